#include "app/desk/work_queue.hpp"

namespace canalogue::desk {

WorkQueue::~WorkQueue() { stop(true); }

void WorkQueue::give(Work work) {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return waiting_.size() < most_ || !state_; });
    if (!state_) return;
    waiting_.push_back(std::move(work));
    changed_.notify_all();
}

bool WorkQueue::failed() const {
    std::lock_guard lock(mutex_);
    return !state_;
}

bool WorkQueue::wait(std::chrono::milliseconds patience) {
    std::unique_lock lock(mutex_);
    return changed_.wait_for(lock, patience, [&] { return !state_ || (waiting_.empty() && !busy_); });
}

Result<void> WorkQueue::finish() {
    stop(false);
    return state_;
}

void WorkQueue::stop(bool drop) {
    {
        std::lock_guard lock(mutex_);
        closed_ = true;
        if (drop) waiting_.clear();
    }
    changed_.notify_all();
    if (thread_.joinable()) thread_.join();
}

void WorkQueue::run() {
    for (;;) {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [&] { return closed_ || !waiting_.empty(); });
        if (waiting_.empty()) return;
        const Work work = std::move(waiting_.front());
        waiting_.pop_front();
        busy_ = true;
        changed_.notify_all();
        lock.unlock();
        auto done = work();
        lock.lock();
        busy_ = false;
        changed_.notify_all();
        if (done) continue;
        state_ = std::move(done);
        waiting_.clear();
        return;
    }
}

}  // namespace canalogue::desk
