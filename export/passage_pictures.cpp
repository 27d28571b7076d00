#include "export/passage_pictures.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::film {

namespace {

// From this pace on, what is passed over between two frames is blended into them.
constexpr double kBlendFrom = 2.0;
constexpr int kMostBlended = 4;
constexpr int kSamplesForWhite = 8;
// At least half of a picture stays when it fills its room.
constexpr int kMostLarger = 2;

Failure short_of_memory() { return machine_trouble("There is not enough memory to make the film; close other programs."); }

// What a picture is fitted into so that it fills `room`.
Size fitted_to_fill(const Recording& r, Size room) {
    const Size picture = upright_size(r.stored, r.rotation);
    const bool wider = static_cast<double>(picture.w) * room.h > static_cast<double>(picture.h) * room.w;
    return wider ? Size{room.w * kMostLarger, room.h} : Size{room.w, room.h * kMostLarger};
}

// Its middle, no larger than `room`; the pixels are shared.
std::shared_ptr<AVFrame> middle_cut(const std::shared_ptr<AVFrame>& picture, Size room) {
    const int w = std::min(picture->width, room.w & ~1), h = std::min(picture->height, room.h & ~1);
    std::shared_ptr<AVFrame> out(av_frame_clone(picture.get()), media::LibavDelete{});
    if (!out) return nullptr;
    const int x = ((picture->width - w) / 2) & ~1, y = ((picture->height - h) / 2) & ~1;
    for (int plane = 0; plane < 3; ++plane) {
        const int half = plane > 0 ? 1 : 0;
        out->data[plane] += (y >> half) * out->linesize[plane] + (x >> half);
    }
    out->width = w, out->height = h;
    return out;
}

// Which part of the picture that showed `window` its middle shows.
ShareBox middle_of_window(const ShareBox& window, Size whole, Size cut) {
    const double w = window.w * std::min(1.0, static_cast<double>(cut.w) / whole.w), h = window.h * std::min(1.0, static_cast<double>(cut.h) / whole.h);
    return {window.x + (window.w - w) / 2, window.y + (window.h - h) / 2, w, h};
}

}  // namespace

Size cut_beside(Size room) {
    constexpr int kWide = 99, kHigh = 85;  // hundredths
    return {room.w * kWide / 100 & ~1, room.h * kHigh / 100 & ~1};
}

Size room_beside(Size room) {
    if (room.w > room.h + room.h / 4) return {room.w / 2 & ~1, room.h};
    return {room.w, (room.h * 3 / 7) & ~1};
}

std::string source_name(const Beside& b) { return b.session.empty() ? b.recording : b.session + "/" + b.recording; }

Result<PictureSource*> PassagePictures::source(std::optional<Opened>& slot, const std::string& id, Size room, bool fill) {
    if (slot && slot->id == id && slot->room == room) return &slot->source;
    for (const auto& s : sources_)
        if (s.recording.id == id) {
            slot.reset();
            auto opened = PictureSource::open(s, fill ? fitted_to_fill(s.recording, room) : room, 0, film_);
            if (!opened) return opened.failure();
            slot.emplace(Opened{id, room, std::move(*opened)});
            return &slot->source;
        }
    return wrong_use("The plan names recording '" + id + "', which this session does not have.");
}

// White is measured and shakes are found once for a passage, before its first picture.
Result<void> PassagePictures::prepare(PictureSource& source, const Passage& passage, std::size_t item) {
    if (prepared_ && prepared_->item == item && prepared_->span == passage.span) return {};
    Prepared now{item, passage.span, {}, nullptr};
    MeanColour white;
    if (const auto& w = passage.view.white) {
        const int samples = w->over ? kSamplesForWhite : 1;
        for (int i = 0; i < samples; ++i) {
            const RecordingTime t = w->over ? w->over->start + w->over->length() * (2 * i + 1) / (2 * samples) : w->at;
            auto picture = source.at(t);
            if (!picture) return picture.failure();
            if (!picture->whole_covered) white.add(*picture->frame, w->grey.value_or(ShareBox{}));
        }
    }
    now.light = light_for(white, passage.view.brightness);
    if (passage.view.steady) {
        auto path = steady_path(source, passage.span, 25);
        if (!path) return path.failure();
        now.steady = std::make_shared<const SteadyPath>(std::move(*path));
    }
    prepared_ = std::move(now);
    return {};
}

ShareBox PassagePictures::window_at(const Passage& passage, RecordingTime t) const {
    const ShareBox whole = passage.close_up ? shown_at(*passage.close_up, passage.span, t) : ShareBox{};
    return prepared_->steady ? steadied(whole, prepared_->steady->at(t)) : whole;
}

// The picture of the recording as it is, alone.
bool PassagePictures::plain(const Passage& passage) const {
    return !passage.close_up && !passage.beside && !prepared_->steady && !passage.view.shape_changed() && prepared_->light.none();
}

Result<CoveredPicture> PassagePictures::shown(PictureSource& source, const Passage& passage, RecordingTime t) {
    return prepared_->steady ? source.window(t, window_at(passage, t)) : source.of(passage, t);
}

Result<CoveredPicture> PassagePictures::blended(PictureSource& source, const Passage& passage, const Piece& piece, long frame) {
    const RecordingTime t = piece.source(frame);
    const double natural = static_cast<double>(source.picture_length()), step = static_cast<double>(piece.step_at(frame));
    const int count = piece.held || step <= kBlendFrom * natural ? 1 : std::clamp(static_cast<int>(std::lround(step / natural)), 2, kMostBlended);
    // At this pace each picture is shown in one frame.
    if (count == 1 && !piece.held && step >= natural * 0.99 && plain(passage)) return source.once(t);
    auto first = shown(source, passage, t);
    if (!first || count == 1) return first;
    std::vector<std::shared_ptr<AVFrame>> frames{first->frame};
    for (int i = 1; i < count; ++i) {
        auto next = shown(source, passage, {t.ns + static_cast<Nanos>(step * i / count)});
        if (!next) return next;
        frames.push_back(next->frame);
        first->whole_covered = first->whole_covered && next->whole_covered;
    }
    first->frame = mean_of(frames);
    if (!first->frame) return short_of_memory();
    return first;
}

Result<ShownPictures> PassagePictures::at(const Passage& passage, const Piece& piece, long frame) {
    Size room = room_;
    if (passage.beside) room = room_beside(room);
    const bool fill = passage.beside && passage.beside->fill;
    if (fill) room = cut_beside(room);
    auto main = source(main_, passage.recording, room, fill);
    if (!main) return main.failure();
    if (auto ok = prepare(**main, passage, piece.item); !ok) return ok.failure();
    auto picture = blended(**main, passage, piece, frame);
    if (!picture) return picture.failure();
    picture->frame = changer_.apply(picture->frame, passage.view, prepared_->light);
    if (!picture->frame) return short_of_memory();
    ShownPictures out{std::move(*picture), window_at(passage, piece.source(frame)), std::nullopt};
    if (!passage.beside) return out;
    auto other = source(other_, source_name(*passage.beside), room, fill);
    if (!other) return other.failure();
    // Before its beginning and after its end, the other stands still.
    auto beside = (*other)->at(passage.beside->meets + (piece.source(frame) - passage.beside->with));
    if (!beside) return beside.failure();
    out.beside = std::move(*beside);
    if (!fill) return out;
    const Size whole = (*main)->picture_size();
    out.picture.frame = middle_cut(out.picture.frame, room);
    out.beside->frame = middle_cut(out.beside->frame, room);
    if (!out.picture.frame || !out.beside->frame) return short_of_memory();
    out.window = middle_of_window(out.window, whole, {out.picture.frame->width, out.picture.frame->height});
    return out;
}

}  // namespace canalogue::film
