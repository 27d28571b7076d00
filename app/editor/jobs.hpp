// Long work beside the window: each on a thread of its own, with progress, a way to stop it, and a last
// step on the window's thread.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"

namespace canalogue::editor {

class Jobs {
  public:
    // What remains to be done on the window's thread when the work has ended well.
    using Then = std::function<void()>;
    using Work = std::function<Result<Then>(const Progress&)>;

    Jobs();
    ~Jobs();  // stops all and waits

    // `title`: what is being done, for people. `quiet`: not worth a line on the screen. `lengthy`: of quiet work, what takes as
    // long as a film does: one at a time, and nothing small waits for it.
    void start(const std::string& title, Work work, bool quiet = false, bool lengthy = false);

    // Runs the last steps of what has ended. Failures other than "stopped" go to `failed`.
    void settle(const std::function<void(const Failure&)>& failed);

    struct Line {
        std::string title, stage;
        double done = 0;
        double seconds = 0;  // since this stage began
        bool quiet = false;
    };
    std::vector<Line> lines() const;
    void stop(const std::string& title);
    bool running(const std::string& title) const;
    bool any() const { return !jobs_.empty(); }

  private:
    struct Job;
    void begin(Job& job);
    void begin_waiting();
    std::vector<std::unique_ptr<Job>> jobs_;
};

}  // namespace canalogue::editor
