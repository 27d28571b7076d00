// Work beside the window: who waits for whom.
#include <catch2/catch.hpp>

#include <atomic>
#include <chrono>
#include <thread>

#include "app/editor/jobs.hpp"

using namespace canalogue;
using namespace canalogue::editor;

TEST_CASE("Small work does not wait for copies that take as long as a film, and of those there is one at a time") {
    std::atomic<bool> go_on{false};
    std::atomic<int> lengthy{0}, most{0}, small{0};
    Jobs jobs;
    for (int i = 0; i < 3; ++i)
        jobs.start("copy " + std::to_string(i), [&](const Progress&) -> Result<Jobs::Then> {
            most = std::max<int>(most, ++lengthy);
            while (!go_on) std::this_thread::sleep_for(std::chrono::milliseconds(1));
            --lengthy;
            return Jobs::Then{};
        }, true, true);
    for (int i = 0; i < 5; ++i) jobs.start("thumbnail " + std::to_string(i), [&](const Progress&) -> Result<Jobs::Then> { return ++small, Jobs::Then{}; }, true);
    const auto settled = [&](auto done) {
        const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(20);
        while (!done() && std::chrono::steady_clock::now() < end) {
            jobs.settle([](const Failure&) {});
            std::this_thread::sleep_for(std::chrono::milliseconds(1));
        }
        return done();
    };
    CHECK(settled([&] { return small == 5; }));
    CHECK(lengthy == 1);
    go_on = true;
    CHECK(settled([&] { return !jobs.any(); }));
    CHECK(most == 1);
}
