#include "export/strip.hpp"

#include <algorithm>
#include <cmath>

#include "export/marks.hpp"

namespace canalogue::film {

namespace {

// Pixels where the film's shorter side has 720.
constexpr double kSide = 20, kLaneLeft = 52, kWordsTop = 8, kWordsSize = 20, kLanesTop = 40, kLaneGap = 3, kMarkSize = 22;
constexpr double kRoomForCount = 48;
constexpr double kNearest = 20;            // marks closer than this are drawn as one with a count
constexpr double kStep = 18, kStepGap = 3; // of a passage that is not the one shown
constexpr double kStepsAtMost = 0.3;       // of the lane, all of them together
constexpr double kTickRoom = 44;           // ticks of the clock are not closer than this
constexpr Nanos kStays = 6 * kSecond;      // the name of what was tagged last

Rgb mixed(Rgb a, Rgb b, double t) {
    const auto m = [t](int x, int y) { return static_cast<int>(x + (y - x) * t + 0.5); };
    return {m(a.r, b.r), m(a.g, b.g), m(a.b, b.b)};
}

Nanos tick_for(Nanos length, double width, double room) {
    constexpr Nanos kTicks[] = {1, 2, 5, 10, 30, 60, 120, 300, 600};
    for (const Nanos t : kTicks)
        if (width * static_cast<double>(t * kSecond) / static_cast<double>(length) >= room) return t * kSecond;
    return 1800 * kSecond;
}

}  // namespace

std::vector<std::vector<StripEvent>> strip_events(const StripInput& in) {
    std::vector<std::vector<StripEvent>> out(in.plan.items.size());
    for (const auto& fe : in.schedule.events) {
        const Event& e = in.events[fe.event];
        const EventKind* kind = in.vocabulary.find(e.kind);
        const long frame = std::min(in.schedule.frame_from(fe.span.start), in.schedule.frames - 1);
        const std::size_t item = in.schedule.piece_at(frame).item;
        if (const auto* p = std::get_if<Passage>(&in.plan.items[item]); p && kind) out[item].push_back({kind, std::clamp(e.at, p->span.start, p->span.end), frame});
    }
    return out;
}

Strip::Strip(const StripInput& in) : plan_(in.plan), frames_per_second_(in.schedule.frames_per_second), scale_(scale_of(in.film)), events_(strip_events(in)) {
    size_ = {in.film.w, height_for(in.film)};
    bool right = false, left = false;
    for (std::size_t i = 0; i < in.plan.items.size(); ++i)
        if (const auto* p = std::get_if<Passage>(&in.plan.items[i])) passages_.push_back(i), (p->ear == Ear::right ? right : left) = true;
    two_lanes_ = right && left;
    Canvas head({std::max(4, static_cast<int>(4 * scale_)) & ~1, static_cast<int>(size_.h - (kLanesTop - 4) * scale_) & ~1});
    head.fill(kAmber);
    playhead_ = Overlay(head);
}

double Strip::x_of(const Part& part, const Passage& p, RecordingTime t) const {
    const double share = static_cast<double>(t - p.span.start) / static_cast<double>(std::max<Nanos>(1, p.span.length()));
    return part.left + (part.right - part.left) * std::clamp(share, 0.0, 1.0);
}

Strip::Lane Strip::lane_of(Ear ear) const {
    const double top = kLanesTop * scale_, room = size_.h - top - 6 * scale_;
    if (!two_lanes_) return {top, room};
    const double height = (room - kLaneGap * scale_) / 2;
    return {top + (ear == Ear::left ? height + kLaneGap * scale_ : 0), height};
}

// While a card is shown no passage is the one shown, and all are alike.
std::vector<Strip::Part> Strip::steps(std::size_t item) const {
    const double left = kLaneLeft * scale_, right = size_.w - kSide * scale_, gap = kStepGap * scale_;
    const auto shown = std::find(passages_.begin(), passages_.end(), item);
    const auto others = static_cast<double>(passages_.size() - (shown != passages_.end()));
    const bool any = shown != passages_.end();
    const double pitch = any ? (others > 0 ? std::min((kStep + kStepGap) * scale_, (right - left) * kStepsAtMost / others) : 0) : (right - left) / std::max(1.0, others);
    std::vector<Part> out;
    double x = left;
    for (const std::size_t each : passages_) {
        const double width = any && each == item ? right - left - others * pitch : pitch;
        out.push_back({x, x + std::max(1.0, width - std::min(gap, width / 4))});
        x += width;
    }
    return out;
}

std::vector<Strip::Mark> Strip::marks_of(std::size_t item, const Part& part) const {
    std::vector<Mark> out;
    const auto& passage = std::get<Passage>(plan_.items[item]);
    const double inset = kMarkSize * scale_ / 2;
    for (const auto& e : events_[item]) {
        const Mark mark{std::clamp(x_of(part, passage, e.at), part.left + inset, std::max(part.left + inset, part.right - inset)), e.kind, 1};
        const auto near = std::find_if(out.begin(), out.end(), [&](const Mark& m) { return std::abs(m.x - mark.x) < kNearest * scale_; });
        if (near == out.end()) {
            out.push_back(mark);
            continue;
        }
        ++near->count;
        if (mark.kind->weight > near->kind->weight) near->kind = mark.kind;
    }
    return out;
}

void Strip::draw_lanes(Canvas& canvas) const {
    std::vector<Ear> ears;
    for (const std::size_t item : passages_)
        if (const Ear ear = std::get<Passage>(plan_.items[item]).ear; std::find(ears.begin(), ears.end(), ear) == ears.end()) ears.push_back(ear);
    if (ears.empty()) ears.push_back(Ear::right);
    for (const Ear ear : ears) {
        const Lane lane = lane_of(ear);
        canvas.box(kLaneLeft * scale_, lane.top, size_.w - (kLaneLeft + kSide) * scale_, lane.height, kSlate, 1, 4 * scale_);
        if (passages_.empty()) continue;
        const TextStyle style{18 * scale_, true, kMist, Align::centre};
        const std::string letter(letter_of(ear));
        canvas.text(kLaneLeft * scale_ / 2 + 4 * scale_, lane.top + (lane.height - Canvas::measure(letter, style).h) / 2, letter, style);
    }
}

void Strip::draw_passage(Canvas& canvas, std::size_t item, const Part& part) const {
    const auto& p = std::get<Passage>(plan_.items[item]);
    const Lane lane = lane_of(p.ear);
    canvas.box(part.left, lane.top, part.right - part.left, lane.height, mixed(kSlate, kMist, 0.2));
    const Nanos tick = tick_for(std::max<Nanos>(1, p.span.length()), part.right - part.left, kTickRoom * scale_);
    for (Nanos t = tick; t < p.span.length(); t += tick)
        canvas.box(std::floor(x_of(part, p, p.span.start + t)), lane.top + lane.height - 6 * scale_, std::max(1.0, std::floor(scale_)), 6 * scale_, mixed(kSlate, kMist, 0.6));
    for (const auto& h : p.holds) canvas.box(std::floor(x_of(part, p, h.at)) - 2 * scale_, lane.top, 4 * scale_, lane.height, mixed(kSlate, kMist, 0.45));
    const auto marks = marks_of(item, part);
    for (const auto& m : marks) {
        const double size = std::min(kMarkSize * scale_, lane.height - 2 * scale_), y = lane.top + lane.height / 2;
        draw_mark(canvas, m.x, y, size, m.kind->symbol);
        const double room = kRoomForCount * scale_;
        const bool room_for_count = part.right - m.x > room * 0.7 && std::none_of(marks.begin(), marks.end(), [&](const Mark& o) { return o.x > m.x && o.x - m.x < room; });
        if (m.count < 2 || !room_for_count) continue;
        const TextStyle style{13 * scale_, true, kMist};
        const std::string count = "\u00d7" + std::to_string(m.count);
        canvas.text(m.x + size * 0.58, y - Canvas::measure(count, style).h / 2.0, count, style);
    }
}

Overlay Strip::drawn(std::size_t item) const {
    Canvas canvas(size_);
    canvas.fill(kInk);  // whole also over the picture: text that was burnt in there must not shine through
    draw_lanes(canvas);
    const auto parts = steps(item);
    for (std::size_t i = 0; i < parts.size(); ++i) {
        if (passages_[i] == item) {
            draw_passage(canvas, item, parts[i]);
            continue;
        }
        const Lane lane = lane_of(std::get<Passage>(plan_.items[passages_[i]]).ear);
        const double inset = 5 * scale_;
        canvas.box(parts[i].left, lane.top + inset, parts[i].right - parts[i].left, lane.height - 2 * inset, mixed(kSlate, kMist, passages_[i] < item ? 0.5 : 0.16));
    }
    return Overlay(canvas);
}

const Overlay& Strip::words(const std::string& text, bool bold, Rgb colour, int width) {
    return words_.get(std::to_string(colour.r) + (bold ? "b" : "n") + std::to_string(width) + text, [&] {
        TextStyle style{kWordsSize * scale_, bold, colour};
        if (width > 0 && Canvas::measure(text, style).w > width) style.width = width, style.lines = 1;
        const Size need = Canvas::measure(text, style);
        Canvas canvas({need.w + 3, need.h + 1});
        canvas.text(0, 0, text, style);
        return Overlay(canvas);
    });
}

void Strip::lay_words(AVFrame& frame, long number, const Shown& shown) {
    const int y = frame.height - size_.h + static_cast<int>(kWordsTop * scale_), side = static_cast<int>(kSide * scale_), gap = static_cast<int>(24 * scale_);
    int x = side, end = frame.width - side;
    if (shown.session) {
        const Overlay& clock = words("Session " + format_clock(shown.session->ns), false, kDim);
        end -= clock.size().w;
        clock.lay_on(frame, end, y);
    }
    if (!shown.ear) return;
    const Overlay& ear = words(*shown.ear == Ear::right ? "Right ear" : "Left ear", true, kAmber);
    ear.lay_on(frame, x, y);
    x += ear.size().w + gap;
    const std::string* last = nullptr;
    for (const auto& e : events_[shown.item])
        if (e.frame <= number && (number - e.frame) * kSecond < kStays * frames_per_second_) last = &e.kind->name;
    if (last) words(*last, false, kMist, end - gap - x).lay_on(frame, x, y);
}

void Strip::lay_on(AVFrame& frame, long number, const Shown& shown) {
    bases_.get(shown.item, [&] { return drawn(shown.item); }).lay_on(frame, 0, frame.height - size_.h);
    lay_words(frame, number, shown);
    const auto* p = std::get_if<Passage>(&plan_.items[shown.item]);
    if (!p || !shown.at) return;
    const auto place = static_cast<std::size_t>(std::find(passages_.begin(), passages_.end(), shown.item) - passages_.begin());
    const int x = static_cast<int>(x_of(steps(shown.item)[place], *p, *shown.at));
    playhead_.lay_on(frame, x - playhead_.size().w / 2, frame.height - playhead_.size().h - static_cast<int>(2 * scale_));
}

}  // namespace canalogue::film
