#include "app/desk/sampling.hpp"

#include <algorithm>

namespace canalogue::desk {

std::vector<RecordingSpan> in_pieces(const std::vector<RecordingSpan>& spans) {
    std::vector<RecordingSpan> out;
    for (const auto& s : spans)
        for (RecordingTime t = s.start; t < s.end; t = t + kPluginSpan) out.push_back({t, std::min(t + kPluginSpan, s.end)});
    return out;
}

Result<void> sample_frames(media::FrameReader& reader, const media::FrameIndex& index, RecordingSpan span,
                           double per_second, const Progress& progress,
                           const std::function<Result<void>(const media::Picture&, RecordingTime shown, RecordingTime instant)>& look) {
    const Nanos step = per_second > 0 ? nanos_from_seconds(1 / per_second) : 1;
    if (auto ok = reader.seek(span.start); !ok) return ok.failure();
    RecordingTime next = span.start;
    for (;;) {
        if (progress.stopped()) return cancelled();
        auto picture = reader.next();
        if (!picture) return picture.failure();
        if (!*picture || (*picture)->time >= span.end) return {};
        // The frame that is on screen when the span begins may have begun before it.
        const RecordingTime shown = std::max((*picture)->time, span.start);
        const std::size_t i = index.at((*picture)->time);
        const RecordingTime until = i + 1 < index.size() ? index.time(i + 1) : index.end();
        if (until <= next) continue;
        const RecordingTime instant = std::max(shown, next);
        next = next + ((std::max<Nanos>(0, shown - next) / step) + 1) * step;
        if (auto ok = look(**picture, shown, instant); !ok) return ok;
    }
}

}  // namespace canalogue::desk
