// How long work tells about itself and is stopped. Thread rule: `report` is called by the working
// thread; `stop` may be set from any thread or from a signal handler.
#pragma once

#include <atomic>
#include <functional>
#include <string_view>

namespace canalogue {

struct Progress {
    // stage: what is being done, in a few plain words; done: 0..1 of this stage.
    std::function<void(std::string_view stage, double done)> report = [](std::string_view, double) {};
    const std::atomic<bool>* stop = nullptr;

    bool stopped() const { return stop && stop->load(std::memory_order_relaxed); }
};

}  // namespace canalogue
