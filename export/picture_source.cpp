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

std::shared_ptr<AVFrame> shared(media::FramePtr frame) { return {frame.release(), media::LibavDelete{}}; }

}  // namespace

PictureSource::PictureSource(const SourceRecording& source, media::FrameReader reader)
    : source_(source), reader_(std::move(reader)) {}

Result<PictureSource> PictureSource::open(const SourceRecording& source, Size limit, int threads, std::optional<Size> film) {
    auto reader = media::FrameReader::open(source.recording.path, threads);
    if (!reader) return reader.failure();
    reader->use_index(source.index);
    const double aspect = reader->facts().pixel_aspect;
    PictureSource out(source, std::move(*reader));
    out.size_ = fitted(source.recording, aspect, limit);
    if (film) {
        const Place there = middle_of(limit, out.size_);
        out.sheet_ = media::Sheet{*film, there.x, there.y};
    }
    return out;
}

// Seeks so that the picture shown at t comes out; interlaced pictures need one more before it.
Result<void> PictureSource::start(RecordingTime t) {
    ready_.clear();
    front_is_covered_ = false;
    front_ = front_end_ = {0};
    ended_ = false;
    started_ = true;
    deinterlacer_ = media::Deinterlacer();
    std::size_t first = source_.index->at(t);
    if (source_.recording.interlaced && first > 0) --first;
    return reader_.seek(source_.index->time(first));
}

RecordingSpan PictureSource::shown_during(RecordingTime t) const {
    return {t, source_.index->shown(source_.index->at(t)).end};
}

Result<void> PictureSource::cover(media::Picture& picture) const {
    return lay_covers(picture, source_.covers.boxes_during(shown_during(picture.time), picture.size()), source_.look);
}

Result<void> PictureSource::take(media::Picture picture) {
    if (!source_.recording.interlaced) {
        ready_.push_back(std::move(picture));
        return {};
    }
    if (auto done = cover(picture); !done) return done;
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

// Brings the picture that is shown at t to the front; t as it lies in what belongs to the session.
Result<RecordingTime> PictureSource::walk_to(RecordingTime t) {
    const auto& span = source_.recording.only;
    t = {std::clamp(t.ns, span.start.ns, std::max(span.start.ns, span.end.ns - 1))};
    const bool known = started_ && !ready_.empty() && front_end_ > front_;
    if (known && front_ <= t && t < front_end_) return t;
    const bool ahead = known && t >= front_end_ && t - front_end_ < kWalkAtMost;
    current_.reset(), current_full_.reset();
    front_end_ = front_;  // not known, should this fail
    if (!ahead)
        if (auto begun = start(t); !begun) return begun.failure();
    // Two pictures are needed to know until when the first is shown.
    for (;;) {
        while (ready_.size() > 1 && ready_[1].time <= t) ready_.erase(ready_.begin()), front_is_covered_ = false;
        if (ready_.size() > 1 || (ended_ && !ready_.empty())) break;
        if (ended_) return bad_media("The recording cannot be decoded at " + format_time(t.ns) + "; leave that stretch out of the plan.");
        if (auto stepped = step(); !stepped) return stepped.failure();
    }
    front_ = ready_.front().time;
    front_end_ = ready_.size() > 1 ? ready_[1].time : RecordingTime{INT64_MAX};
    return t;
}

Result<const media::Picture*> PictureSource::front_covered() {
    media::Picture& front = ready_.front();
    if (!front_is_covered_ && !source_.recording.interlaced)
        if (auto done = cover(front); !done) return done.failure();
    front_is_covered_ = true;
    return &front;
}

Result<CoveredPicture> PictureSource::converted(const media::Sheet* sheet) {
    auto front = front_covered();
    if (!front) return front.failure();
    auto frame = converter_.convert(*(*front)->frame, source_.recording.rotation, size_, sheet);
    if (!frame) return frame.failure();
    return CoveredPicture{shared(std::move(*frame)), front_, source_.covers.nothing_left_during(shown_during(front_), source_.recording.stored),
                          converter_.on_sheet() ? sheet_ : std::nullopt};
}

Result<CoveredPicture> PictureSource::at(RecordingTime t) {
    if (auto there = walk_to(t); !there) return there.failure();
    if (current_) return *current_;
    auto picture = converted(nullptr);
    if (picture) current_ = *picture;
    return picture;
}

Result<CoveredPicture> PictureSource::once(RecordingTime t) {
    if (auto there = walk_to(t); !there) return there.failure();
    return current_ ? *current_ : converted(sheet_ ? &*sheet_ : nullptr);
}

Result<std::shared_ptr<AVFrame>> PictureSource::full_size() {
    if (current_full_) return current_full_;
    auto front = front_covered();
    if (!front) return front.failure();
    const Size upright = upright_size(source_.recording.stored, source_.recording.rotation);
    auto frame = full_converter_.convert(*(*front)->frame, source_.recording.rotation, {std::max(2, upright.w & ~1), std::max(2, upright.h & ~1)});
    if (!frame) return frame.failure();
    return current_full_ = shared(std::move(*frame));
}

Result<CoveredPicture> PictureSource::of(const Passage& passage, RecordingTime t) {
    if (!passage.close_up) return at(t);
    return window(t, shown_at(*passage.close_up, passage.span, t));
}

Result<CoveredPicture> PictureSource::window(RecordingTime t, const ShareBox& window) {
    if (auto there = walk_to(t); !there) return there.failure();
    auto full = full_size();
    if (!full) return full.failure();
    auto frame = sampler_.sample(**full, window, size_);
    if (!frame) return frame.failure();
    return CoveredPicture{shared(std::move(*frame)), front_, source_.covers.nothing_left_during(shown_during(front_), source_.recording.stored)};
}

}  // namespace canalogue::film
