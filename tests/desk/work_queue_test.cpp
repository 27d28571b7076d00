#include "app/desk/work_queue.hpp"

#include <atomic>
#include <catch2/catch.hpp>
#include <vector>

#include "app/desk/sampling.hpp"

using namespace canalogue;
using namespace canalogue::desk;
using namespace std::chrono_literals;

TEST_CASE("Works are done in the order in which they were given, beside whoever gives them") {
    std::vector<int> done;
    {
        WorkQueue queue(2);
        for (int i = 0; i < 50; ++i)
            queue.give([&done, i]() -> Result<void> {
                done.push_back(i);
                return {};
            });
        REQUIRE(queue.finish().ok());
    }
    REQUIRE(done.size() == 50);
    for (int i = 0; i < 50; ++i) CHECK(done[static_cast<std::size_t>(i)] == i);
}

TEST_CASE("No more works wait than may: who gives one more waits for room") {
    std::atomic<int> held = 0, most = 0;
    struct Held {
        std::atomic<int>& n;
        Held(std::atomic<int>& count, std::atomic<int>& highest) : n(count) {
            if (++n > highest) highest = n.load();
        }
        ~Held() { --n; }
    };
    WorkQueue queue(3);
    for (int i = 0; i < 30; ++i)
        queue.give([picture = std::make_shared<Held>(held, most)]() -> Result<void> {
            std::this_thread::sleep_for(1ms);
            return {};
        });
    REQUIRE(queue.finish().ok());
    CHECK(most <= 5);  // three wait, one is done, one is being given
    CHECK(held == 0);
}

TEST_CASE("The first failure ends the queue: what waits is dropped, and what it said is kept") {
    std::atomic<int> done = 0;
    WorkQueue queue(4);
    queue.give([]() -> Result<void> { return machine_trouble("It stopped."); });
    for (int i = 0; i < 20; ++i)
        queue.give([&]() -> Result<void> {
            ++done;
            return {};
        });
    CHECK(queue.wait(1s));
    CHECK(queue.failed());
    const auto end = queue.finish();
    REQUIRE_FALSE(end.ok());
    CHECK(end.failure().sentence == "It stopped.");
    CHECK(done == 0);
}

TEST_CASE("Who gives up does not wait for what waits") {
    std::atomic<int> done = 0;
    {
        WorkQueue queue(100);
        for (int i = 0; i < 100; ++i)
            queue.give([&]() -> Result<void> {
                ++done;
                std::this_thread::sleep_for(5ms);
                return {};
            });
    }
    CHECK(done < 50);
}

TEST_CASE("Frames are taken once for each sampling instant, whatever the recording's own rate") {
    Sampler sampler({0}, 4);
    int taken = 0;
    for (int frame = 0; frame < 250; ++frame) taken += sampler.take({frame * 40 * kMillisecond}, {(frame + 1) * 40 * kMillisecond}).has_value();
    CHECK(taken == 40);  // ten seconds
    // A frame that stays for a second serves the instants it is shown at once.
    Sampler slow({0}, 4);
    taken = 0;
    for (int frame = 0; frame < 10; ++frame) taken += slow.take({frame * kSecond}, {(frame + 1) * kSecond}).has_value();
    CHECK(taken == 10);
}

TEST_CASE("After a drop nothing that was given is at work") {
    std::atomic<int> done = 0;
    WorkQueue queue(100);
    for (int i = 0; i < 50; ++i)
        queue.give([&]() -> Result<void> {
            std::this_thread::sleep_for(2ms);
            ++done;
            return {};
        });
    queue.drop();
    const int then = done;
    std::this_thread::sleep_for(20ms);
    CHECK(done == then);
    CHECK(then < 50);
}
