// Showing a recording to a plugin: evenly sampled frames, and a second try after a crash. Shared by
// scanning and gauging.
#pragma once

#include <functional>

#include "app/core/progress.hpp"
#include "app/media/frame_index.hpp"
#include "app/media/frame_reader.hpp"
#include "app/plugin_host/plugin_process.hpp"

namespace canalogue::desk {

// A crash loses at most this much work.
inline constexpr Nanos kPluginSpan = 10 * kSecond;

// `spans` cut to kPluginSpan at most, in order.
std::vector<RecordingSpan> in_pieces(const std::vector<RecordingSpan>& spans);

// Calls `look` for the frame on screen at each sampling instant: span.start, then every
// 1/per_second (0: every frame). shown: when that frame came on screen, at the earliest the start of
// the span; instant: the sampling instant, later by less than that frame lasts (the last one may lie
// behind the span). Stops at the first failure.
// The reader must have the index.
Result<void> sample_frames(media::FrameReader& reader, const media::FrameIndex& index, RecordingSpan span,
                           double per_second, const Progress& progress,
                           const std::function<Result<void>(const media::Picture&, RecordingTime shown, RecordingTime instant)>& look);

// Does `work` (a span offered to the plugin), and once more when it failed, in a new process if the
// plugin is gone. What was cancelled is not tried again.
template <class Work>
auto tried_twice(PluginProcess& plugin, Work work) -> decltype(work()) {
    auto done = work();
    if (done || done.failure().trouble == Trouble::cancelled) return done;
    if (!plugin.running())
        if (auto again = plugin.restart(); !again) return again.failure();
    auto second = work();
    // Ready for the span after this one, if it may be.
    if (!second && !plugin.running()) (void)plugin.restart();
    return second;
}

}  // namespace canalogue::desk
