// Work done in order beside the thread that gives it, with a bounded queue: the decoder goes on while a plugin looks.
//
// Thread rule: give() and finish() belong to one thread. The first failure ends the queue: what waits is dropped.
#pragma once

#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>

#include "app/core/result.hpp"

namespace canalogue::desk {

class WorkQueue {
  public:
    using Work = std::function<Result<void>()>;

    // most: works that may wait; giving one more waits for room. What the works hold (pictures) is held as long.
    explicit WorkQueue(std::size_t most) : most_(most), thread_([this] { run(); }) {}
    // Drops what waits; what is being done is waited for.
    ~WorkQueue();
    WorkQueue(const WorkQueue&) = delete;
    WorkQueue& operator=(const WorkQueue&) = delete;

    void give(Work work);
    bool failed() const;
    // Drops what waits; what is being done is waited for. Nothing that was given is at work after it.
    void drop() { stop(true); }
    // Waits so long for all to be done; false when it is not.
    bool wait(std::chrono::milliseconds patience);
    // Waits until all is done; what the first failing work said. Nothing may be given after it.
    Result<void> finish();

  private:
    void run();
    void stop(bool drop);

    const std::size_t most_;
    mutable std::mutex mutex_;
    std::condition_variable changed_;
    std::deque<Work> waiting_;
    Result<void> state_;
    bool closed_ = false, busy_ = false;
    std::thread thread_;  // last: it uses the others
};

}  // namespace canalogue::desk
