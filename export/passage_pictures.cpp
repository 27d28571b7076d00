#include "export/passage_pictures.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::film {

namespace {

// From this pace on, what is passed over between two frames is blended into them.
constexpr double kBlendFrom = 2.0;
constexpr int kMostBlended = 4;
constexpr int kSamplesForWhite = 8;

Failure short_of_memory() { return machine_trouble("There is not enough memory to make the film; close other programs."); }

}  // namespace

Size room_beside(Size room) {
    if (room.w > room.h + room.h / 4) return {room.w / 2 & ~1, room.h};
    return {room.w, (room.h * 3 / 7) & ~1};
}

std::string source_name(const Beside& b) { return b.session.empty() ? b.recording : b.session + "/" + b.recording; }

Result<PictureSource*> PassagePictures::source(std::optional<Opened>& slot, const std::string& id, Size room) {
    if (slot && slot->id == id && slot->room == room) return &slot->source;
    for (const auto& s : sources_)
        if (s.recording.id == id) {
            slot.reset();
            auto opened = PictureSource::open(s, room, 0, film_);
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
    auto main = source(main_, passage.recording, room);
    if (!main) return main.failure();
    if (auto ok = prepare(**main, passage, piece.item); !ok) return ok.failure();
    auto picture = blended(**main, passage, piece, frame);
    if (!picture) return picture.failure();
    picture->frame = changer_.apply(picture->frame, passage.view, prepared_->light);
    if (!picture->frame) return short_of_memory();
    ShownPictures out{std::move(*picture), window_at(passage, piece.source(frame)), std::nullopt};
    if (!passage.beside) return out;
    auto other = source(other_, source_name(*passage.beside), room);
    if (!other) return other.failure();
    // Before its beginning and after its end, the other stands still.
    auto beside = (*other)->at(passage.beside->meets + (piece.source(frame) - passage.beside->with));
    if (!beside) return beside.failure();
    out.beside = std::move(*beside);
    return out;
}

}  // namespace canalogue::film
