#include "app/editor/time_map.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "app/core/event_rules.hpp"
#include "app/editor/mark_textures.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {

constexpr float kSuspectLane = 34;  // several at a time lie under one another
constexpr int kSuspectRows = 5;
constexpr float kRuler = 26, kEventLane = 30, kThinLane = 22, kCurveLane = 26, kNames = 92;
constexpr float kSnap = 7;   // pixels
constexpr float kGrab = 6;

// A step that people count in, so that labels are at least this far apart.
Nanos ruler_step(double nanos_per_pixel, float apart) {
    static constexpr Nanos kSteps[] = {kSecond / 10, kSecond / 2, kSecond, 2 * kSecond, 5 * kSecond, 10 * kSecond, 30 * kSecond, 60 * kSecond, 120 * kSecond, 300 * kSecond, 600 * kSecond, 1800 * kSecond, 3600 * kSecond};
    for (Nanos s : kSteps)
        if (static_cast<double>(s) / nanos_per_pixel >= apart) return s;
    return 2 * 3600 * kSecond;
}

}  // namespace

float TimeMap::height_for(const MapExtras& extras) {
    std::set<std::string> names;
    for (const auto& c : extras.curves) names.insert(c.name);
    const auto lanes = names.size();
    return px(kRuler + 2 * kEventLane + kSuspectLane + kThinLane * (1 + (extras.plan ? 1.0f : 0.0f)) + kCurveLane * static_cast<float>(lanes) + 8);
}

SessionSpan TimeMap::visible(const Workplace& w) const {
    const SessionSpan all = w.player.whole();
    if (!shown_) return all.empty() ? SessionSpan{{0}, {60 * kSecond}} : all;
    return *shown_;
}

float TimeMap::x_of(SessionTime t) const {
    return left_ + static_cast<float>(static_cast<double>(t.ns - now_.start.ns) / static_cast<double>(now_.length()) * static_cast<double>(right_ - left_));
}

SessionTime TimeMap::time_at(float x) const {
    return {now_.start.ns + static_cast<Nanos>(static_cast<double>(x - left_) / static_cast<double>(right_ - left_) * static_cast<double>(now_.length()))};
}

void TimeMap::zoom(float factor, SessionTime around) {
    const double length = std::max(static_cast<double>(now_.length()) / factor, static_cast<double>(kSecond) / 2);
    const double share = static_cast<double>(around.ns - now_.start.ns) / static_cast<double>(std::max<Nanos>(1, now_.length()));
    const auto start = around.ns - static_cast<Nanos>(length * share);
    shown_ = SessionSpan{{start}, {start + static_cast<Nanos>(length)}};
}

void TimeMap::draw_ruler(ImDrawList* draw) {
    const double per_pixel = static_cast<double>(now_.length()) / static_cast<double>(right_ - left_);
    const Nanos step = ruler_step(per_pixel, px(84));
    for (Nanos t = now_.start.ns / step * step; t < now_.end.ns; t += step) {
        const float x = x_of({t});
        if (x < left_) continue;
        draw->AddLine({x, from_.y + px(18)}, {x, from_.y + px(kRuler)}, colour(theme().edge), 1);
        const std::string words = step < kSecond ? format_time(t / (kSecond / 10) * (kSecond / 10)) : format_clock(t);
        if (x + ImGui::CalcTextSize(words.c_str()).x < right_) draw->AddText({x + px(4), from_.y + px(3)}, colour(theme().quiet), words.c_str());
    }
}

// Where there is film, and of which side.
void TimeMap::draw_ground(const Workplace& w, ImDrawList* draw) {
    for (const auto& r : w.view.recordings) {
        const SessionSpan s = r.session_span();
        const float a = std::max(left_, x_of(s.start)), b = std::min(right_, x_of(s.end));
        if (b <= a) continue;
        draw->AddRectFilled({a, from_.y + px(kRuler)}, {b, from_.y + size_.y}, colour(theme().panel));
        draw->AddLine({a, from_.y + px(kRuler)}, {a, from_.y + size_.y}, colour(theme().edge), 1);
        // Which side is shown where: a band in the lane of that side. Dark in both looks: the marks are made
        // for a dark ground.
        for (const auto& e : r.ears) {
            const float x0 = std::max(left_, x_of(r.session_time(e.span.start))), x1 = std::min(right_, x_of(r.session_time(e.span.end)));
            const float y = from_.y + px(kRuler) + (e.ear == Ear::left ? px(kEventLane) : 0);
            if (x1 > x0) draw->AddRectFilled({x0, y + px(2)}, {x1, y + px(kEventLane) - px(2)}, colour(film::kSlate), px(4));
        }
    }
}

void TimeMap::draw_curve(const Curve& c, const Lane& lane, ImDrawList* draw) const {
    if (c.step <= 0 || c.values.empty()) return;
    // One column of pixels shows the lowest and highest of what falls into it.
    const float base = lane.top + lane.height - px(3), room = lane.height - px(6);
    for (float x = left_; x < right_; x += 1) {
        const auto i0 = static_cast<long>((time_at(x).ns - c.from.ns) / c.step), i1 = std::max(i0 + 1, static_cast<long>((time_at(x + 1).ns - c.from.ns) / c.step));
        float low = 2, high = -1;
        for (long i = std::max(0L, i0); i < std::min<long>(i1, static_cast<long>(c.values.size())); ++i) {
            const float v = c.values[static_cast<std::size_t>(i)];
            if (std::isnan(v)) continue;
            low = std::min(low, v), high = std::max(high, v);
        }
        if (high < 0) continue;
        draw->AddLine({x, base}, {x, base - std::max(px(1), high * room)}, colour(theme().edge), 1);
        draw->AddLine({x, base - high * room - px(1)}, {x, base - low * room}, colour(theme().quiet), 1);
    }
}

void TimeMap::draw_events(Workplace& w, Ear ear, const Lane& lane, ImDrawList* draw) {
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    const float y = lane.top + lane.height / 2, size = px(21);
    float last_x = -1000;
    // What ended before the visible part is passed over at once; only events with a length reach into it.
    for (const auto& [event, kind, t, end] : w.view.placed) {
        const Event& e = *event;
        if (t > now_.end) break;
        if (e.ear != ear || (end ? *end : t + static_cast<Nanos>(static_cast<double>(now_.length()) / 40)) < now_.start) continue;
        const float x = x_of(t);
        if (end) {
            const float x1 = std::min(right_, x_of(*end));
            draw->AddRectFilled({std::max(left_, x), y - px(3)}, {x1, y + px(3)}, colour(film::rgb_from(kind->symbol.colour), 0.6f), px(3));
        }
        const bool chosen = e.id == w.event;
        // Marks that would lie on one another are drawn as one: zooming in tells them apart.
        if (x - last_x < px(9) && !chosen) continue;
        last_x = x;
        if (chosen) draw->AddRectFilled({x - size * 0.75f, lane.top + px(1)}, {x + size * 0.75f, lane.top + lane.height - px(1)}, colour(theme().accent, 0.35f), px(4));
        marks().draw(draw, {x, y}, size, kind->symbol, e.origin == Origin::suggestion ? 0.45f : 1.0f);
        if (std::abs(mouse.x - x) < size / 2 && std::abs(mouse.y - y) < lane.height / 2 && ImGui::IsItemHovered()) {
            read_out(format_time(t.ns / kMillisecond * kMillisecond) + "  " + std::string(name_of(e.ear)) + " ear  " + described(e, *kind, FreeText::keep) + (e.origin == Origin::suggestion ? "  (suggestion)" : ""));
            if (ImGui::IsMouseClicked(0) && !asking()) w.event = e.id;
        }
    }
}

void TimeMap::draw_suspects(Workplace& w, const Lane& lane, ImDrawList* draw) {
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    const float height = (lane.height - px(4)) / kSuspectRows;
    std::array<float, kSuspectRows> taken;  // up to where each row is drawn on
    taken.fill(-1e9f);
    for (const auto& line : w.view.suspects) {
        const Suspect& s = line.suspect;
        const Recording* r = w.view.recording(s.recording);
        if (!r || s.kind == SuspectKind::metadata) continue;  // of the file, not of a time
        const float x0 = x_of(r->session_time(s.span.start)), x1 = std::max(x_of(r->session_time(s.span.end)), x0 + px(3));
        if (x1 < left_ || x0 > right_) continue;
        const auto free = std::find_if(taken.begin(), taken.end(), [&](float end) { return end <= x0; });
        const auto place = free == taken.end() ? std::min_element(taken.begin(), taken.end()) : free;
        *place = x1;
        const float a = std::max(left_, x0), b = std::min(right_, x1), top = lane.top + px(2) + height * static_cast<float>(place - taken.begin()), bottom = top + height - px(1.5f);
        const bool harmless = s.decision.verdict == Verdict::harmless, open = s.decision.verdict == Verdict::open;
        // Open: filled and bright; covered: filled and calm; harmless: an outline. Never by colour alone.
        if (harmless) draw->AddRect({a, top}, {b, bottom}, colour(theme().quiet), px(1));
        else draw->AddRectFilled({a, top}, {b, bottom}, colour(open ? theme().accent : theme().edge), px(1));
        if (s.id == w.suspect) draw->AddRect({a - px(2), top - px(2)}, {b + px(2), bottom + px(2)}, colour(theme().text), px(2), 0, px(2));
        if (mouse.x >= a && mouse.x <= b && mouse.y >= top && mouse.y < bottom && ImGui::IsItemHovered()) {
            read_out(s.id + "  " + std::string(name_of(s.kind)) + ", " + (line.unscanned_by.empty() ? std::string(name_of(s.decision.verdict)) : "not scanned by " + line.unscanned_by));
            if (ImGui::IsMouseClicked(0) && !asking()) w.suspect = s.id;
        }
    }
}

void TimeMap::draw_passages(Workplace& w, const MapExtras& extras, const Lane& lane, ImDrawList* draw) {
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    near_trim_.reset();
    for (std::size_t i = 0; i < extras.plan->items.size(); ++i) {
        const auto* p = std::get_if<Passage>(&extras.plan->items[i]);
        const Recording* r = p ? w.view.recording(p->recording) : nullptr;
        if (!r) continue;
        const float x0 = x_of(r->session_time(p->span.start)), x1 = x_of(r->session_time(p->span.end));
        const float a = std::max(left_, x0), b = std::min(right_, x1);
        if (b <= a) continue;
        const bool chosen = extras.passage == i;
        draw->AddRectFilled({a, lane.top + px(2)}, {b, lane.top + lane.height - px(2)}, colour(chosen ? theme().accent : theme().edge), px(3));
        if (ImGui::IsItemHovered() && mouse.y >= lane.top && mouse.y < lane.top + lane.height) {
            if (std::abs(mouse.x - x0) < px(kGrab)) near_trim_ = Trim{i, false};
            else if (std::abs(mouse.x - x1) < px(kGrab)) near_trim_ = Trim{i, true};
        }
    }
}

void TimeMap::draw_seen(const MapExtras& extras, const Lane& lane, ImDrawList* draw) const {
    for (const auto& s : extras.seen) {
        const float a = std::max(left_, x_of(s.start)), b = std::min(right_, x_of(s.end));
        if (b > a) draw->AddRectFilled({a, lane.top + px(5)}, {b, lane.top + lane.height - px(5)}, colour(Rgb{0x00, 0x9E, 0x73}), px(2));
    }
}

// To an event when one is near under the pointer; the player itself lands on frames.
SessionTime TimeMap::snapped(const Workplace& w, SessionTime t) const {
    if (ImGui::GetIO().KeyCtrl) return t;
    const float x = x_of(t);
    SessionTime best = t;
    float nearest = px(kSnap);
    for (const auto& e : w.view.placed) {
        const float d = std::abs(x_of(e.at) - x);
        if (d < nearest) nearest = d, best = e.at;
    }
    return best;
}

void TimeMap::handle_mouse(Workplace& w, const MapExtras& extras) {
    const ImGuiIO& io = ImGui::GetIO();
    const bool over = ImGui::IsItemHovered();
    const SessionTime under = time_at(std::clamp(io.MousePos.x, left_, right_));
    if (over && io.MouseWheel != 0) {
        if (io.KeyShift) {
            const Nanos by = static_cast<Nanos>(-io.MouseWheel * 0.15f * static_cast<float>(now_.length()));
            shown_ = SessionSpan{now_.start + by, now_.end + by};
        } else zoom(io.MouseWheel > 0 ? 1.3f : 1 / 1.3f, under);
    }
    if (over && ImGui::IsMouseDragging(1)) {
        const auto by = static_cast<Nanos>(-static_cast<double>(io.MouseDelta.x) / static_cast<double>(right_ - left_) * static_cast<double>(now_.length()));
        shown_ = SessionSpan{now_.start + by, now_.end + by};
    }
    if (shown_) {  // never beyond the session, never wider than all of it
        const SessionSpan all = w.player.whole();
        if (shown_->length() >= all.length() || all.empty()) shown_.reset();
        else if (shown_->start < all.start) shown_ = SessionSpan{all.start, all.start + shown_->length()};
        else if (shown_->end > all.end) shown_ = SessionSpan{all.end - shown_->length(), all.end};
    }
    if (near_trim_ || trim_) ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
    if (over && ImGui::IsMouseClicked(0)) {
        if (asking()) drag_from_ = snapped(w, under);
        else if (near_trim_) trim_ = near_trim_;
        else scrubbing_ = true;
    }
    if (trim_ && extras.plan && trim_->passage < extras.plan->items.size()) {
        const auto& p = std::get<Passage>(extras.plan->items[trim_->passage]);
        const Recording* r = w.view.recording(p.recording);
        RecordingSpan span = p.span;
        if (r) {
            const RecordingTime t = std::clamp(r->recording_time(snapped(w, under)), r->only.start, r->only.end);
            if (trim_->end) span.end = std::max(t, span.start + kSecond / 5);
            else span.start = std::min(t, span.end - kSecond / 5);
            w.player.go(r->session_time(trim_->end ? span.end - 1 : span.start));
            if (trimmed) trimmed(trim_->passage, span, ImGui::IsMouseReleased(0));
        }
        if (ImGui::IsMouseReleased(0)) trim_.reset();
    }
    if (scrubbing_) {
        w.player.go(snapped(w, under));
        if (ImGui::IsMouseReleased(0)) scrubbing_ = false;
    }
    if (drag_from_ && ImGui::IsMouseReleased(0)) {
        const SessionTime end = snapped(w, under);
        const SessionSpan span{std::min(*drag_from_, end), std::max(*drag_from_, end)};
        drag_from_.reset();
        if (span.length() >= kSecond / 25) std::exchange(span_wanted_, nullptr)(span);
    }
}

void TimeMap::draw(Workplace& w, const MapExtras& extras, ImVec2 from, ImVec2 size) {
    from_ = from, size_ = size, tip_.clear();
    left_ = from.x + px(kNames), right_ = from.x + size.x - px(12);
    now_ = visible(w);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    draw->AddRectFilled(from, {from.x + size.x, from.y + size.y}, colour(theme().ground));
    ImGui::SetCursorScreenPos(from);
    ImGui::InvisibleButton("time map", {std::max(1.0f, size.x), std::max(1.0f, size.y)}, ImGuiButtonFlags_MouseButtonLeft | ImGuiButtonFlags_MouseButtonRight);
    probe().mark("time map", left_, from.y, right_ - left_, size.y, std::to_string(now_.start.ns) + " " + std::to_string(now_.end.ns));

    std::vector<Lane> lanes;
    float y = from.y + px(kRuler);
    const auto lane = [&](const std::string& name, float height) {
        lanes.push_back({name, y, px(height)});
        y += px(height);
        return lanes.back();
    };
    draw->PushClipRect({left_, from.y}, {right_, from.y + size.y}, true);
    draw_ground(w, draw);
    draw_ruler(draw);
    draw_events(w, Ear::right, lane("Right ear", kEventLane), draw);
    draw_events(w, Ear::left, lane("Left ear", kEventLane), draw);
    for (const auto& c : extras.curves) {
        const bool same = !lanes.empty() && lanes.back().name == c.name;
        draw_curve(c, same ? lanes.back() : lane(c.name, kCurveLane), draw);
    }
    draw_suspects(w, lane("Suspects", kSuspectLane), draw);
    draw_seen(extras, lane("Seen", kThinLane), draw);
    if (extras.plan) draw_passages(w, extras, lane("Passages", kThinLane), draw);
    if (drag_from_) draw->AddRectFilled({x_of(*drag_from_), from.y + px(kRuler)}, {ImGui::GetIO().MousePos.x, from.y + size.y}, colour(theme().accent, 0.35f));
    if (const auto loop = w.player.loop()) draw->AddRectFilled({x_of(loop->start), from.y + px(kRuler) - px(5)}, {x_of(loop->end), from.y + px(kRuler)}, colour(theme().accent));
    const float head = x_of(w.player.at());
    draw->AddLine({head, from.y}, {head, from.y + size.y}, colour(theme().accent), px(2));
    draw->AddTriangleFilled({head - px(6), from.y}, {head + px(6), from.y}, {head, from.y + px(9)}, colour(theme().accent));
    draw->PopClipRect();
    for (const auto& l : lanes) text_within({from.x + px(12), l.top + (l.height - ImGui::GetFontSize()) / 2}, px(kNames - 16), l.name, theme().quiet);
    handle_mouse(w, extras);
    if (!tip_.empty()) ImGui::SetTooltip("%s", tip_.c_str());
}

}  // namespace canalogue::editor
