// Several threads make numbered things; one thread takes them in order.
#pragma once

#include <condition_variable>
#include <map>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

namespace canalogue::demo {

// Calls make(0..count-1) on `threads` threads and take(thing) in order on the calling thread, with at
// most `ahead` things waiting. take returns false to stop early. make must not throw.
template <class Make, class Take>
void make_in_order(int count, int threads, int ahead, Make make, Take take) {
    using Thing = decltype(make(0));
    std::mutex lock;
    std::condition_variable moved;
    std::map<int, Thing> waiting;
    int next = 0, taken = 0;
    bool stop = false;

    const auto work = [&] {
        for (std::unique_lock held(lock);;) {
            moved.wait(held, [&] { return stop || next >= count || next < taken + ahead; });
            if (stop || next >= count) return;
            const int number = next++;
            held.unlock();
            Thing thing = make(number);
            held.lock();
            waiting.emplace(number, std::move(thing));
            moved.notify_all();
        }
    };
    std::vector<std::thread> workers;
    for (int i = 0; i < threads; ++i) workers.emplace_back(work);
    while (taken < count) {
        std::unique_lock held(lock);
        moved.wait(held, [&] { return waiting.count(taken) > 0; });
        Thing thing = std::move(waiting.at(taken));
        waiting.erase(taken);
        held.unlock();
        const bool go_on = take(std::move(thing));
        held.lock();
        ++taken;
        stop = !go_on;
        moved.notify_all();
        if (stop) break;
    }
    for (auto& worker : workers) worker.join();
}

}  // namespace canalogue::demo
