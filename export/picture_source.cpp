#include "export/picture_source.hpp"

#include <cmath>

#include "export/cover_fill.hpp"

namespace canalogue::film {

namespace {

// A jump forward longer than this is made by seeking.
constexpr Nanos kWalkAtMost = 2 * kSecond;

Size fitted(const Recording& r, double pixel_aspect, Size limit) {
    Size s = upright_size(r.stored, r.rotation);
    double w = s.w, h = s.h;
    (r.rotation == Rotation::quarter || r.rotation == Rotation::three_quarters ? h : w) *= pixel_aspect;
    const double scale = std::min(limit.w / w, limit.h / h);
    const auto even = [](double v) { return std::max(2, static_cast<int>(std::lround(v / 2)) * 2); };
    return {std::min(even(w * scale), limit.w), std::min(even(h * scale), limit.h)};
}

}  // namespace

PictureSource::PictureSource(const SourceRecording& source, media::FrameReader reader)
    : source_(source), reader_(std::move(reader)) {}

Result<PictureSource> PictureSource::open(const SourceRecording& source, Size limit, int threads) {
    auto reader = media::FrameReader::open(source.recording.path, threads);
    if (!reader) return reader.failure();
    reader->use_index(source.index);
    const double aspect = reader->facts().pixel_aspect;
    PictureSource out(source, std::move(*reader));
    out.size_ = fitted(source.recording, aspect, limit);
    return out;
}

// Seeks so that the picture shown at t comes out; interlaced pictures need one more before it.
Result<void> PictureSource::start(RecordingTime t) {
    ready_.clear();
    current_.reset();
    ended_ = false;
    started_ = true;
    deinterlacer_ = media::Deinterlacer();
    std::size_t first = source_.index->at(t);
    if (source_.recording.interlaced && first > 0) --first;
    return reader_.seek(source_.index->time(first));
}

RecordingSpan PictureSource::shown_during(RecordingTime t) const {
    const std::size_t i = source_.index->at(t);
    return {t, i + 1 < source_.index->size() ? source_.index->time(i + 1) : std::max(source_.index->end(), t + 1)};
}

Result<void> PictureSource::take(media::Picture picture) {
    const auto boxes = source_.covers.boxes_during(shown_during(picture.time), picture.size());
    if (auto done = lay_covers(picture, boxes); !done) return done;
    if (!source_.recording.interlaced) {
        ready_.push_back(std::move(picture));
        return {};
    }
    auto out = deinterlacer_.push(picture);
    if (!out) return out.failure();
    for (auto& p : *out) ready_.push_back(std::move(p));
    return {};
}

Result<void> PictureSource::step() {
    auto next = reader_.next();
    if (!next) return next.failure();
    if (*next) return take(std::move(**next));
    ended_ = true;
    if (!source_.recording.interlaced) return {};
    auto out = deinterlacer_.drain();
    if (!out) return out.failure();
    for (auto& p : *out) ready_.push_back(std::move(p));
    return {};
}

Result<CoveredPicture> PictureSource::at(RecordingTime t) {
    const auto& span = source_.recording.only;
    t = {std::clamp(t.ns, span.start.ns, std::max(span.start.ns, span.end.ns - 1))};
    if (current_ && current_->time <= t && t < current_end_) return *current_;
    const bool ahead = current_ && t >= current_end_ && t - current_end_ < kWalkAtMost;
    if (!started_ || !ahead)
        if (auto begun = start(t); !begun) return begun.failure();
    // Two pictures are needed to know until when the first is shown.
    for (;;) {
        while (ready_.size() > 1 && ready_[1].time <= t) ready_.erase(ready_.begin());
        const bool known = ready_.size() > 1 || (ended_ && !ready_.empty());
        if (known) break;
        if (ended_) return bad_media("The recording cannot be decoded at " + format_time(t.ns) + "; leave that stretch out of the plan.");
        if (auto stepped = step(); !stepped) return stepped.failure();
    }
    const media::Picture& shown = ready_.front();
    auto frame = converter_.convert(*shown.frame, source_.recording.rotation, size_);
    if (!frame) return frame.failure();
    current_ = CoveredPicture{std::shared_ptr<AVFrame>(frame->release(), media::LibavDelete{}), shown.time,
                              source_.covers.whole_during(shown_during(shown.time))};
    current_end_ = ready_.size() > 1 ? ready_[1].time : RecordingTime{INT64_MAX};
    return *current_;
}

}  // namespace canalogue::film
