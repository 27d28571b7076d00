#include "export/strip.hpp"

#include <algorithm>

#include "export/marks.hpp"

namespace canalogue::film {

namespace {

// Pixels at 720 lines.
constexpr double kSide = 20, kLaneLeft = 52, kWordsTop = 8, kWordsSize = 20, kLanesTop = 40, kLaneGap = 3, kMarkSize = 22;
constexpr double kRoomForCount = 48;
constexpr double kNearest = 20;  // marks closer than this are drawn as one with a count

Rgb mixed(Rgb a, Rgb b, double t) {
    const auto m = [t](int x, int y) { return static_cast<int>(x + (y - x) * t + 0.5); };
    return {m(a.r, b.r), m(a.g, b.g), m(a.b, b.b)};
}

}  // namespace

Strip::Strip(const StripInput& in) : scale_(in.film.h / 720.0), length_(std::max<Nanos>(1, in.schedule.length())) {
    size_ = {in.film.w, height_for(in.film)};
    bool right = false, left = false;
    for (const auto& item : in.plan.items)
        if (const auto* p = std::get_if<Passage>(&item)) (p->ear == Ear::right ? right : left) = true;
    two_lanes_ = right && left;
    gather_marks(in);
    draw_base(in);
    Canvas head({std::max(4, static_cast<int>(4 * scale_)) & ~1, static_cast<int>(size_.h - (kLanesTop - 4) * scale_) & ~1});
    head.fill(kAmber);
    playhead_ = Overlay(head);
}

double Strip::x_of(FilmTime t) const {
    const double left = kLaneLeft * scale_, right = size_.w - kSide * scale_;
    return left + (right - left) * static_cast<double>(t.ns) / static_cast<double>(length_);
}

int Strip::lane_of(Ear ear) const { return two_lanes_ && ear == Ear::left ? 1 : 0; }

void Strip::gather_marks(const StripInput& in) {
    for (const auto& fe : in.schedule.events) {
        const Event& e = in.events[fe.event];
        const EventKind* kind = in.vocabulary.find(e.kind);
        if (!kind) continue;
        const long frame = static_cast<long>(fe.span.start.ns * in.schedule.frames_per_second / kSecond);
        said_.push_back({fe.span.start, in.schedule.piece_at(std::min(frame, in.schedule.frames - 1)).item, kind->name});
        const Mark mark{x_of(fe.span.start), lane_of(e.ear), kind, 1, fe.span.start, kind->name};
        auto near = std::find_if(marks_.begin(), marks_.end(), [&](const Mark& m) {
            return m.lane == mark.lane && std::abs(m.x - mark.x) < kNearest * scale_;
        });
        if (near == marks_.end()) {
            marks_.push_back(mark);
            continue;
        }
        ++near->count;
        if (kind->weight > near->kind->weight) near->kind = kind;
    }
}

void Strip::draw_base(const StripInput& in) {
    Canvas canvas(size_);
    canvas.fill(kInk);  // whole also over the picture: text that was burnt in there must not shine through
    const int lanes = two_lanes_ ? 2 : 1;
    const double top = kLanesTop * scale_, room = size_.h - top - 6 * scale_;
    const double lane_height = (room - (lanes - 1) * kLaneGap * scale_) / lanes;
    const auto lane_top = [&](int lane) { return top + lane * (lane_height + kLaneGap * scale_); };
    for (int lane = 0; lane < lanes; ++lane) {
        canvas.box(kLaneLeft * scale_, lane_top(lane), size_.w - (kLaneLeft + kSide) * scale_, lane_height, kSlate, 1, 4 * scale_);
        std::string letter = lane == 1 ? "L" : "R";
        if (!two_lanes_)
            for (const auto& item : in.plan.items)
                if (const auto* p = std::get_if<Passage>(&item)) letter = letter_of(p->ear);
        const TextStyle style{18 * scale_, true, kMist, Align::centre};
        const Size text = Canvas::measure(letter, style);
        canvas.text(kLaneLeft * scale_ / 2 + 4 * scale_, lane_top(lane) + (lane_height - text.h) / 2, letter, style);
    }
    for (const auto& piece : in.schedule.pieces) {
        const auto* p = std::get_if<Passage>(&in.plan.items[piece.item]);
        if (!p) continue;
        const double x0 = x_of(in.schedule.time_of(piece.first)), x1 = x_of(in.schedule.time_of(piece.first + piece.count));
        canvas.box(x0, lane_top(lane_of(p->ear)), std::max(1.0, x1 - x0 - 1), lane_height, mixed(kSlate, kMist, piece.held ? 0.34 : 0.2));
    }
    for (const auto& m : marks_) {
        const double size = std::min(kMarkSize * scale_, lane_height - 2 * scale_), y = lane_top(m.lane) + lane_height / 2;
        draw_mark(canvas, m.x, y, size, m.kind->symbol);
        const bool room_for_count = std::none_of(marks_.begin(), marks_.end(), [&](const Mark& o) {
            return o.lane == m.lane && o.x > m.x && o.x - m.x < kRoomForCount * scale_;
        });
        if (m.count > 1 && room_for_count) {
            const TextStyle style{13 * scale_, true, kMist};
            const std::string count = "\u00d7" + std::to_string(m.count);
            canvas.text(m.x + size * 0.58, y - Canvas::measure(count, style).h / 2.0, count, style);
        }
    }
    base_ = Overlay(canvas);
}

const Overlay& Strip::words(const std::string& text, double size, bool bold, Rgb colour) {
    return words_.get(std::to_string(colour.r) + (bold ? "b" : "n") + text, [&] {
        const TextStyle style{size * scale_, bold, colour};
        const Size need = Canvas::measure(text, style);
        Canvas canvas({need.w + 3, need.h + 1});
        canvas.text(0, 0, text, style);
        return Overlay(canvas);
    });
}

void Strip::lay_on(AVFrame& frame, FilmTime now, const Shown& shown) {
    const int top = frame.height - size_.h;
    base_.lay_on(frame, 0, top);
    const int y = top + static_cast<int>(kWordsTop * scale_);
    int x = static_cast<int>(kSide * scale_);
    if (shown.ear) {
        const Overlay& side = words(*shown.ear == Ear::right ? "Right ear" : "Left ear", kWordsSize, true, kAmber);
        side.lay_on(frame, x, y);
        x += side.size().w + static_cast<int>(24 * scale_);
        // What was tagged last, for a while.
        constexpr Nanos kStays = 6 * kSecond;
        const std::string* last = nullptr;
        for (const auto& said : said_)
            if (said.item == shown.item && said.at <= now && now - said.at < kStays) last = &said.name;
        if (last) words(*last, kWordsSize, false, kMist).lay_on(frame, x, y);
    }
    if (shown.session) {
        const Overlay& clock = words("Session " + format_clock(shown.session->ns), kWordsSize, false, kDim);
        clock.lay_on(frame, frame.width - static_cast<int>(kSide * scale_) - clock.size().w, y);
    }
    playhead_.lay_on(frame, static_cast<int>(x_of(now)) - playhead_.size().w / 2, frame.height - playhead_.size().h - static_cast<int>(2 * scale_));
}

}  // namespace canalogue::film
