// Showing a recording to plugins: evenly sampled frames and sound, one decoding for all of them, and a second
// try after a crash. Shared by scanning and gauging.
#pragma once

#include <atomic>
#include <functional>
#include <map>
#include <memory>
#include <optional>

#include "app/core/cover.hpp"
#include "app/core/progress.hpp"
#include "app/desk/desk.hpp"
#include "app/media/frame_index.hpp"
#include "app/media/frame_reader.hpp"
#include "app/plugin_host/plugin_process.hpp"

namespace canalogue::desk {

class WorkQueue;

// What is kept at once; a crash loses two of these at most.
inline constexpr Nanos kPluginSpan = 10 * kSecond;

// `spans` cut to kPluginSpan at most, in order.
std::vector<RecordingSpan> in_pieces(const std::vector<RecordingSpan>& spans);

// `size` shrunk until its longer side is `longest` at most; 0: as it is.
Size shrunk(Size size, int longest);

// Which frames are due: one for each sampling instant, `start` and then every 1/per_second (0: every frame).
class Sampler {
  public:
    Sampler(RecordingTime start, double per_second);
    // For each frame in order: the sampling instant it is for, in shown .. until; none when it is not due.
    std::optional<RecordingTime> take(RecordingTime shown, RecordingTime until);

  private:
    Nanos step_;
    RecordingTime next_;
};

// One recording, held open to be offered to plugins span by span.
class Offering {
  public:
    // A frame's time as plugins are told it: when it came on screen, or the sampling instant it is for.
    enum class Times { shown, instants };

    // desk, recording and progress must outlive it; `stage`: what is being done, for people. Reads nothing yet.
    Offering(const Desk& desk, const Recording& recording, Times times, std::string stage, const Progress& progress);
    ~Offering();

    // From now on plugins see what is left of the pictures under these covers.
    void cover(Covers covers) { covers_ = std::move(covers); }

    // The size of the frames that a plugin will be shown; 0 by 0 when the recording or the plugin has none.
    Size shown_to(const PluginProcess& plugin) const;

    // What ends a span with the i-th plugin; called from another thread.
    using End = std::function<Result<void>(std::size_t i)>;

    // Begins `span` with each plugin, shows it the frames, lets it hear the sound it wants, and ends the span. The plugins
    // work beside one another and beside the decoder. The results are the plugins' own troubles, in their order: one that
    // fails does not stop the others. Fails as a whole when it is stopped or the recording cannot be read.
    Result<std::vector<Result<void>>> offer(const std::vector<PluginProcess*>& plugins, RecordingSpan span, const End& end);

    // The same in two steps, so that the next span can be decoded while plugins are still at this one: start() returns when
    // the span was decoded, finish() waits for what the plugins say. Spans started one after another reach each plugin in
    // that order. Where a plugin fails, the spans that were started for it after that fail with it.
    // One plugin in a span that was started.
    struct Turn {
        PluginProcess* plugin;
        Sampler sampler;
        Size size;
        std::shared_ptr<WorkQueue> queue;
        std::shared_ptr<std::atomic<bool>> ended;
        bool sees() const;
    };
    using Started = std::vector<Turn>;
    Result<Started> start(const std::vector<PluginProcess*>& plugins, RecordingSpan span, const End& end);
    Result<std::vector<Result<void>>> finish(Started started);
    // Waits until nothing that was started is at work with the plugin: then it may be restarted.
    void settle(PluginProcess& plugin);

  private:
    Result<void> show(std::vector<Turn>& turns, RecordingSpan span);
    Result<void> show_frame(std::vector<Turn>& turns, media::Picture& picture, RecordingTime shown, RecordingTime until, RecordingSpan span);
    Result<void> play(std::vector<Turn>& turns, RecordingSpan span);
    Result<void> open();
    void tell(RecordingTime t) const;

    const Desk& desk_;
    const Recording& recording_;
    Times times_;
    std::string stage_;
    const Progress& progress_;
    std::shared_ptr<const media::FrameIndex> index_;
    std::optional<media::FrameReader> reader_;
    std::optional<Covers> covers_;
    std::map<int, media::RgbConverter> converters_;  // by longest side
    std::map<PluginProcess*, std::shared_ptr<WorkQueue>> queues_;  // last: their threads end first
};

// Does `work` once more when `first` is a plugin's failure, in a new process if the plugin is gone. What was
// cancelled is not tried again.
template <class Outcome, class Work>
Outcome tried_again(PluginProcess& plugin, Outcome first, Work work) {
    if (first || first.failure().trouble == Trouble::cancelled) return first;
    if (!plugin.running())
        if (auto again = plugin.restart(); !again) return again.failure();
    auto second = work();
    // Ready for the span after this one, if it may be.
    if (!second && !plugin.running()) (void)plugin.restart();
    return second;
}

}  // namespace canalogue::desk
