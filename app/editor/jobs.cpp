#include "app/editor/jobs.hpp"

#include <GLFW/glfw3.h>

#include <algorithm>

namespace canalogue::editor {

namespace {
// Small work (thumbnails, indexes) waits for its turn; what a person asked for begins at once.
constexpr int kQuietAtOnce = 2, kLengthyAtOnce = 1;
}  // namespace

struct Jobs::Job {
    std::string title;
    Work work;
    bool begun = false;
    bool quiet = false, lengthy = false;
    double began = 0;
    std::atomic<bool> stop{false}, ended{false};
    std::atomic<double> done{0};
    mutable std::mutex mutex;  // guards stage
    std::string stage;
    Result<Then> outcome = Then{};
    std::thread thread;
};

Jobs::Jobs() = default;

Jobs::~Jobs() {
    for (auto& j : jobs_) j->stop = true;
    for (auto& j : jobs_)
        if (j->begun) j->thread.join();
}

void Jobs::start(const std::string& title, Work work, bool quiet, bool lengthy) {
    auto job = std::make_unique<Job>();
    Job* j = job.get();
    j->title = title;
    j->quiet = quiet, j->lengthy = lengthy;
    j->began = glfwGetTime();
    j->work = std::move(work);
    jobs_.push_back(std::move(job));
    begin_waiting();
}

void Jobs::begin_waiting() {
    const auto running = [&](bool lengthy) { return std::count_if(jobs_.begin(), jobs_.end(), [&](const auto& j) { return j->quiet && j->begun && j->lengthy == lengthy; }); };
    for (auto& job : jobs_)
        if (!job->begun && (!job->quiet || running(job->lengthy) < (job->lengthy ? kLengthyAtOnce : kQuietAtOnce))) begin(*job);
}

void Jobs::begin(Job& job) {
    job.begun = true;
    job.thread = std::thread([j = &job] {
        Progress progress;
        progress.stop = &j->stop;
        progress.report = [j](std::string_view stage, double done) {
            j->done = done;
            const std::lock_guard lock(j->mutex);
            if (j->stage != stage) j->began = glfwGetTime();
            j->stage = stage;
        };
        try {
            j->outcome = j->work(progress);
        } catch (const std::bad_alloc&) {
            j->outcome = machine_trouble("There is not enough memory; close other programs and try again.");
        } catch (const std::exception&) {
            j->outcome = machine_trouble("Something unexpected went wrong while working on '" + j->title + "'; nothing stored was changed.");
        }
        j->ended = true;
        glfwPostEmptyEvent();
    });
}

void Jobs::settle(const std::function<void(const Failure&)>& failed) {
    for (std::size_t i = 0; i < jobs_.size();) {
        if (!jobs_[i]->ended) {
            ++i;
            continue;
        }
        const std::unique_ptr<Job> job = std::move(jobs_[i]);
        jobs_.erase(jobs_.begin() + static_cast<std::ptrdiff_t>(i));
        job->thread.join();
        if (!job->outcome) {
            if (job->outcome.failure().trouble != Trouble::cancelled) failed(job->outcome.failure());
        } else if (*job->outcome) {
            (*job->outcome)();
        }
    }
    begin_waiting();
}

std::vector<Jobs::Line> Jobs::lines() const {
    std::vector<Line> out;
    for (const auto& j : jobs_) {
        const std::lock_guard lock(j->mutex);
        out.push_back({j->title, j->stage, j->done, glfwGetTime() - j->began, j->quiet});
    }
    return out;
}

void Jobs::stop(const std::string& title) {
    for (auto& j : jobs_)
        if (j->title == title) j->stop = true;
}

bool Jobs::running(const std::string& title) const {
    for (const auto& j : jobs_)
        if (j->title == title) return true;
    return false;
}

}  // namespace canalogue::editor
