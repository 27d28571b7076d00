#include "export/composer.hpp"

#include <algorithm>

namespace canalogue::film {

namespace {

// Words on a dark box: legible on bright wax and on black alike, and over whatever was burnt in there.
constexpr double kBoxAlpha = 1.0;

// Scopes show their round picture on black: a black surround makes one whole of the two.
constexpr Rgb kSurround{0, 0, 0};

Overlay boxed(const std::string& words, TextStyle style, double padding, Rgb ground, double radius) {
    const Size need = Canvas::measure(words, style);
    const int w = static_cast<int>(need.w + 2 * padding + 2), h = static_cast<int>(need.h + 1.2 * padding + 2);
    Canvas canvas({w & ~1, h & ~1});
    canvas.box(0, 0, canvas.size().w, canvas.size().h, ground, kBoxAlpha, radius);
    const double x = style.align == Align::centre ? canvas.size().w / 2.0 : padding;
    canvas.text(x, (canvas.size().h - need.h) / 2.0, words, style);
    return Overlay(canvas);
}

std::string with_breaks(const std::vector<std::string>& lines) {
    std::string out;
    for (const auto& line : lines) out += (out.empty() ? "" : "\n") + line;
    return out;
}

}  // namespace

Composer::Composer(const Plan& plan, const Schedule& schedule, const std::vector<Event>& events, const std::vector<Recording>& recordings,
                   const Vocabulary& vocabulary, const std::vector<Cue>& cues, Audience audience)
    : plan_(plan), schedule_(schedule), recordings_(recordings), cues_(cues), film_(plan.film.size), scale_(Strip::scale_of(plan.film.size)) {
    if (plan.film.strip != StripStyle::off)
        strip_ = std::make_unique<Strip>(StripInput{plan, schedule, events, vocabulary, film_});
    if (const auto words = frame_notice(audience); !words.empty())
        notice_ = boxed(std::string(words), {22 * scale_, true, kAmber}, 12 * scale_, kInk, 6 * scale_);
    covered_ = boxed("Not shown: covered to protect people's identity", {26 * scale_, false, kMist}, 20 * scale_, kSlate, 8 * scale_);
}

Size Composer::picture_room() const {
    const int strip = plan_.film.strip == StripStyle::below ? Strip::height_for(film_) : 0;
    return {film_.w, film_.h - strip};
}

int Composer::foot() const { return strip_ ? film_.h - strip_->height() : film_.h; }

const Recording* Composer::recording(const std::string& id) const {
    for (const auto& r : recordings_)
        if (r.id == id) return &r;
    return nullptr;
}

const Overlay& Composer::side(Ear ear) {
    return sides_.get(ear, [&] { return boxed(ear == Ear::right ? "RIGHT EAR" : "LEFT EAR", {24 * scale_, true, kMist}, 14 * scale_, kInk, 6 * scale_); });
}

const Overlay& Composer::label(const std::string& words) {
    return labels_.get(words, [&] {
        TextStyle style{28 * scale_, false, kMist, Align::left};
        const int room = static_cast<int>(film_.w * (narrow() ? 0.84 : 0.7));
        if (Canvas::measure(words, style).w > room) style.width = room;
        return boxed(words, style, 16 * scale_, kInk, 6 * scale_);
    });
}

const Overlay& Composer::card(std::size_t item) {
    return cards_.get(item, [&] { return drawn_card(item); });
}

// What the last card of the film says of pictures that are not as they were filmed; nothing on other cards.
std::string Composer::changes_told(std::size_t item) const {
    if (item + 1 != plan_.items.size()) return {};
    bool shape = false, light = false;
    for (const auto& each : plan_.items)
        if (const auto* p = std::get_if<Passage>(&each)) shape = shape || p->view.shape_changed(), light = light || p->view.light_changed();
    std::string out;
    if (light) out = "Brightness or colour was changed in some passages, which say so.";
    if (shape) out += std::string(out.empty() ? "" : " ") + "Some passages are mirrored or turned; the ear they name is the true one.";
    return out;
}

Overlay Composer::drawn_card(std::size_t item) const {
    const auto& c = std::get<Card>(plan_.items[item]);
    const std::string changes = changes_told(item);
    Canvas canvas(film_);
    canvas.fill(kInk);
    const bool title = c.role == Card::Role::title, warning = c.role == Card::Role::warning;
    const int margin = film_.w / 8, width = film_.w - 2 * margin;
    // Laid out more than once: first to know the height, smaller where it is too much, then centred in the room above the strip.
    double scale = scale_;
    const auto lay = [&](Canvas& on, double y) {
        const double top = y;
        if (warning) y += on.text(margin, y, "BEFORE YOU WATCH", {22 * scale, true, kAmber}).h + 10 * scale;
        y += on.text(margin, y, c.title, {(title ? 60 : 48) * scale, true, kMist, Align::left, width, 3}).h + 14 * scale;
        on.box(margin, y, 96 * scale, 5 * scale, kAmber);
        y += 30 * scale;
        for (std::size_t i = 0; i < c.lines.size(); ++i) {
            const bool last = i + 1 == c.lines.size() && c.lines.size() > 1;
            if (last) y += 14 * scale;
            y += on.text(margin, y, c.lines[i], {(last ? 24 : 32) * scale, false, last ? kDim : kMist, Align::left, width, 3}).h + 12 * scale;
        }
        if (!changes.empty()) y += on.text(margin, y, changes, {22 * scale, false, kDim, Align::left, width, 3}).h + 12 * scale;
        return y - top;
    };
    constexpr double kSmaller = 0.9, kSmallest = 0.4;  // of the usual size
    const double most = picture_room().h - 48.0 * scale_;
    double height = 0;
    for (;; scale *= kSmaller) {
        Canvas scratch(film_);
        height = lay(scratch, 0);
        if (height <= most || scale * kSmaller < scale_ * kSmallest) break;
    }
    const double y = std::max(24.0 * scale_, (picture_room().h - height) / 2);
    // What may be hard to see is told in a quiet panel of its own: it should be noticed, and frighten nobody.
    if (warning) {
        const double around = std::min(margin * 0.6, 48 * scale_), line = std::max(2.0, 2 * scale_), top = std::max(line, y - around), tall = std::min(height + 2 * around, picture_room().h - top - line);
        canvas.box(margin - around, top, width + 2 * around, tall, kDim, 1, 10 * scale_);
        canvas.box(margin - around + line, top + line, width + 2 * (around - line), tall - 2 * line, kSlate, 1, 9 * scale_);
    }
    lay(canvas, y);
    return Overlay(canvas);
}

const Overlay& Composer::caption(std::size_t cue) {
    // Two lines of the film's caption size stay within the readable share of the height.
    return captions_.get(cue, [&] {
        return boxed(with_breaks(cues_[cue].lines), {32 * scale_, false, Rgb{255, 255, 255}, Align::centre, static_cast<int>(film_.w * (narrow() ? 0.9 : 0.68))}, 14 * scale_, {8, 14, 16}, 6 * scale_);
    });
}

const Overlay& Composer::tag(const std::string& words) {
    return tags_.get(words, [&] { return boxed(words, {24 * scale_, false, kMist}, 14 * scale_, kInk, 6 * scale_); });
}

// Where the picture, or one of two, is laid.
Composer::ShareOfRoom Composer::room_of(bool beside, bool second) const {
    const Size room = picture_room();
    if (!beside) return {0, 0, room.w, room.h};
    const Size half = room_beside(room);
    if (half.w < room.w) return {second ? half.w : 0, 0, half.w, half.h};
    return {0, second ? room.h / 2 & ~1 : 0, half.w, half.h};
}

// A picture lies in the middle of its room.
PictureArea Composer::area_of(const CoveredPicture& picture, const ShareOfRoom& room) {
    const Size size{picture.frame->width, picture.frame->height};
    const Place there = middle_of({room.w, room.h}, size);
    return {room.x + there.x, room.y + there.y, size.w, size.h, {}};
}

// The film frame that the picture lies on already, if it may be drawn on.
media::FramePtr Composer::ground_of(const ShownPictures& shown) const {
    const CoveredPicture& p = shown.picture;
    if (!p.sheet || shown.beside || p.frame.use_count() > 1 || !av_frame_is_writable(p.frame.get())) return nullptr;
    const PictureArea there = area_of(p, room_of(false, false));
    return *p.sheet == media::Sheet{film_, there.x, there.y} ? media::around_window(*p.frame, *p.sheet) : nullptr;
}

// Where neither a picture nor the strip will be laid.
void Composer::surround(AVFrame& frame, const ShownPictures& shown) const {
    if (shown.beside) return fill_frame(frame, kSurround);
    const PictureArea there = area_of(shown.picture, room_of(false, false));
    fill_around(frame, kSurround, {there.x, there.y, there.w, there.h}, foot());
}

// With its ear and what is changed in it.
PictureArea Composer::lay_picture(AVFrame& frame, const CoveredPicture& picture, Ear ear, const std::string& told, const ShareOfRoom& room) {
    const int edge = static_cast<int>(20 * scale_);
    const PictureArea area = area_of(picture, room);
    const bool lies_there = frame.buf[0]->buffer == picture.frame->buf[0]->buffer;
    if (!lies_there) paste(frame, *picture.frame, area.x, area.y);
    if (picture.whole_covered) covered_.lay_on(frame, room.x + (room.w - covered_.size().w) / 2, room.y + (room.h - covered_.size().h) / 2);
    side(ear).lay_on(frame, room.x + edge, room.y + edge);
    if (!told.empty()) tag(told).lay_on(frame, room.x + edge + side(ear).size().w + static_cast<int>(10 * scale_), room.y + edge);
    return area;
}

void Composer::lay_words_beside(AVFrame& frame, const Beside& beside, const PictureArea& first, const PictureArea& other) {
    const auto lay = [&](const std::string& words, const PictureArea& area) {
        if (words.empty()) return;
        const Overlay& text = tag(words);
        text.lay_on(frame, area.x + (area.w - text.size().w) / 2, area.y + area.h + static_cast<int>(8 * scale_));
    };
    lay(beside.words, first), lay(beside.other_words, other);
}

void Composer::lay_passage(AVFrame& frame, long number, const Piece& piece, const Passage& passage, const ShownPictures& shown) {
    const RecordingTime t = piece.source(number);
    // What is shown large is said to be: sizes and what lies around cannot be told from it. So is what else is changed.
    std::string told = passage.close_up && is_close_up(shown_at(*passage.close_up, passage.span, t)) ? "CLOSE-UP" : "";
    if (const auto changes = words_of(passage.view); !changes.empty()) told += (told.empty() ? "" : ", ") + changes;
    PictureArea area = lay_picture(frame, shown.picture, passage.ear, told, room_of(shown.beside.has_value(), false));
    area.window = shown.window;
    if (shown.beside) {
        const PictureArea other = lay_picture(frame, *shown.beside, passage.beside->ear, "", room_of(true, true));
        lay_words_beside(frame, *passage.beside, area, other);
    }
    const PassageInstant now{t, piece.held ? 0 : static_cast<double>(piece.step_at(number)) * schedule_.frames_per_second / static_cast<double>(kSecond)};
    draw_pointers(frame, passage, now, area, scale_);
    draw_places(frame, passage, now, area, scale_);
    if (const Label* l = label_at(passage, t)) {
        const int edge = static_cast<int>(20 * scale_);
        const Overlay& words = label(l->text);
        words.lay_on(frame, edge, foot() - edge - words.size().h);
    }
}

const Label* Composer::label_at(const Passage& passage, RecordingTime t) const {
    for (const auto& l : passage.labels)
        if (l.from <= t && t < std::max(l.until, l.from + 1)) return &l;
    return nullptr;
}

// Above the label that stands there, so that neither hides the other.
void Composer::lay_caption(AVFrame& frame, long number, const Overlay* over) {
    const int edge = static_cast<int>(20 * scale_), above = std::max(static_cast<int>(84 * scale_), over ? edge + over->size().h + edge / 2 : 0);
    for (std::size_t i = 0; i < cues_.size(); ++i)
        if (schedule_.frame_from(cues_[i].span.start) <= number && number < schedule_.frame_from(cues_[i].span.end)) {
            const Overlay& words = caption(i);
            words.lay_on(frame, (film_.w - words.size().w) / 2, foot() - words.size().h - above);
        }
}

media::FramePtr Composer::compose(long number, ShownPictures* pictures) {
    media::FramePtr frame = pictures ? ground_of(*pictures) : nullptr;
    if (!frame) frame = media::make_frame(AV_PIX_FMT_YUV420P, film_);
    if (!frame) return nullptr;
    const Piece& piece = schedule_.piece_at(number);
    const auto* passage = std::get_if<Passage>(&plan_.items[piece.item]);
    Strip::Shown shown{piece.item, {}, {}, {}};
    if (passage && pictures) {
        surround(*frame, *pictures);
        lay_passage(*frame, number, piece, *passage, *pictures);
        shown.ear = passage->ear;
        shown.at = piece.source(number);
        if (const Recording* r = recording(passage->recording)) shown.session = r->session_time(piece.source(number));
    } else {
        card(piece.item).lay_on(*frame, 0, 0);
    }
    if (plan_.film.captions == CaptionStyle::burnt) {
        const Label* there = passage && pictures ? label_at(*passage, piece.source(number)) : nullptr;
        lay_caption(*frame, number, there ? &label(there->text) : nullptr);
    }
    const int edge = static_cast<int>(20 * scale_);
    // Where the film is narrow it stands under the side.
    if (!notice_.empty()) notice_.lay_on(*frame, film_.w - notice_.size().w - edge, narrow() ? edge + side(Ear::right).size().h + edge / 2 : edge);
    if (strip_) strip_->lay_on(*frame, number, shown);
    return frame;
}

media::FramePtr Composer::still(const CoveredPicture& picture, Ear ear, const std::string& words) {
    const Size size{picture.frame->width & ~1, picture.frame->height & ~1};
    media::FramePtr frame = media::make_frame(AV_PIX_FMT_YUV420P, size);
    if (!frame) return nullptr;
    paste(*frame, *picture.frame, 0, 0);
    const int edge = static_cast<int>(20 * scale_);
    if (picture.whole_covered) covered_.lay_on(*frame, (size.w - covered_.size().w) / 2, (size.h - covered_.size().h) / 2);
    side(ear).lay_on(*frame, edge, edge);
    if (!notice_.empty()) notice_.lay_on(*frame, size.w - notice_.size().w - edge, edge);
    if (words.empty()) return frame;
    const Overlay& text = label(words);
    text.lay_on(*frame, edge, size.h - edge - text.size().h);
    return frame;
}

}  // namespace canalogue::film
