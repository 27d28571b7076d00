// The close-up of the chosen passage: on the picture, by keys, and what the desk says of it.
#include <algorithm>
#include <cmath>

#include "app/editor/clip_desk.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {

constexpr ShareBox kFirst{0.25, 0.25, 0.5, 0.5};  // where a new one begins
constexpr Nanos kSpotShown = kSecond / 2;         // so near its question's instant a spot is drawn
constexpr double kNudge = 0.01, kStep = 1.05;     // of the picture; of the window

std::string times(double factor) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1fx", factor);
    return text;
}

std::string short_time(Nanos t) { return format_time(t / (kSecond / 10) * (kSecond / 10)); }

void tip(const char* words) {
    if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", words);
}

}  // namespace

Passage* ClipDesk::chosen_passage() { return plan_ && chosen_ && *chosen_ < plan_->items.size() ? std::get_if<Passage>(&plan_->items[*chosen_]) : nullptr; }

bool ClipDesk::placing() const {
    if (!placing_ || placing_ != chosen_ || !plan_ || *chosen_ >= plan_->items.size()) return false;
    const auto* p = std::get_if<Passage>(&plan_->items[*chosen_]);
    return p && p->close_up;
}

void ClipDesk::stop_placing() {
    placing_.reset();
    hand_.let_go();
}

// The film goes to where the position being placed is shown at rest.
void ClipDesk::place(Workplace& w, bool second) {
    Passage* p = chosen_passage();
    if (!p || !p->close_up) return;
    hand_.let_go();
    hand_.second = second;
    const Recording* r = w.view.recording(p->recording);
    if (!r) return;
    const RecordingSpan way = p->close_up->moving.value_or(p->span);
    w.player.play(false);
    w.player.go(r->session_time(second ? RecordingTime{way.end.ns - 1} : way.start));
}

void ClipDesk::close_up(Workplace& w) {
    Passage* p = chosen_passage();
    if (!p) return void(w.failed(wrong_use("A close-up belongs to a passage: choose one among the cards first.")));
    if (placing()) return stop_placing();
    preview_.stop();
    placing_ = chosen_;
    const bool fresh = !p->close_up;
    if (fresh) p->close_up = CloseUp{kFirst, {}, {}};
    // Where the film stands in the passage it stays: that is what is looked at.
    const Recording* r = w.view.recording(p->recording);
    hand_.let_go(), hand_.second = false;
    if (r && (!w.player.showing() || w.player.showing()->recording->id != r->id || !p->span.holds(r->recording_time(w.player.at())))) place(w, false);
    if (fresh) change(w, "add a close-up");
}

void ClipDesk::on_picture(Workplace& w, const PictureOnScreen& picture) {
    Passage* p = chosen_passage();
    if (!p || !placing()) return;
    const auto now = w.player.showing();
    if (!now || now->recording->id != p->recording) return hand_.let_go();
    if (w.player.playing()) {
        hand_.let_go();
        return CloseUpHand::draw_moving(shown_at(*p->close_up, p->span, now->recording->recording_time(w.player.at())), picture);
    }
    if (auto changed = hand_.handle(*p->close_up, picture)) {
        p->close_up = *changed;
        change(w, "place a close-up");
    }
}

void ClipDesk::draw_spots(const Workplace& w, const PictureOnScreen& picture) const {
    const Passage* p = plan_ && chosen_ && *chosen_ < plan_->items.size() ? std::get_if<Passage>(&plan_->items[*chosen_]) : nullptr;
    const auto now = w.player.showing();
    if (!p || !now || now->recording->id != p->recording) return;
    const RecordingTime t = now->recording->recording_time(w.player.at());
    draw_pointers(*p, t, picture);
    for (std::size_t i = 0; i < p->questions.size(); ++i) {
        const Question& q = p->questions[i];
        if (!q.spot || std::abs(t.ns - q.at.ns) > kSpotShown) continue;
        const ImVec2 a{picture.origin.x + static_cast<float>(q.spot->x) * picture.size.x, picture.origin.y + static_cast<float>(q.spot->y) * picture.size.y};
        const ImVec2 b{picture.origin.x + static_cast<float>(q.spot->right()) * picture.size.x, picture.origin.y + static_cast<float>(q.spot->bottom()) * picture.size.y};
        // A light line on a dark one is seen on bright wax and on black.
        ImDrawList* draw = ImGui::GetWindowDrawList();
        draw->AddRect({a.x - 1, a.y - 1}, {b.x + 1, b.y + 1}, IM_COL32(0, 0, 0, 200), 0, 0, px(5));
        draw->AddRect(a, b, colour(theme().accent), 0, 0, px(2.5f));
        char place[64];
        std::snprintf(place, sizeof place, "%.0f %.0f %.0f %.0f", q.spot->x * 100, q.spot->y * 100, q.spot->w * 100, q.spot->h * 100);
        probe().mark("spot " + std::to_string(i), a.x, a.y, b.x - a.x, b.y - a.y, place);
    }
}

// As they were placed, on the recording's own picture: what the film makes of them the preview shows.
void ClipDesk::draw_pointers(const Passage& p, RecordingTime t, const PictureOnScreen& picture) const {
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const auto twice = [&](const auto& line) {  // a light line on a dark one
        line(IM_COL32(0, 0, 0, 200), px(5));
        line(colour(theme().accent), px(2.5f));
    };
    for (std::size_t i = 0; i < p.pointers.size(); ++i) {
        const Pointer& each = p.pointers[i];
        if (t < each.from || t > each.until) continue;
        const PointerStep step = place_at(each, t);
        const ImVec2 at{picture.origin.x + static_cast<float>(step.x) * picture.size.x, picture.origin.y + static_cast<float>(step.y) * picture.size.y};
        const ImVec2 half{static_cast<float>(each.w) * picture.size.x / 2, static_cast<float>(each.h) * picture.size.y / 2};
        const float side = step.x < 0.55 ? 1.0f : -1.0f;
        const ImVec2 tail{at.x + side * px(52), at.y + px(39)};
        twice([&](ImU32 ink, float wide) {
            if (each.shape == PointerShape::arrow) {
                draw->AddLine(tail, at, ink, wide);
                draw->AddLine(at, {at.x + side * px(15), at.y + px(2)}, ink, wide);
                draw->AddLine(at, {at.x + side * px(6), at.y + px(15)}, ink, wide);
            } else if (each.shape == PointerShape::ring) {
                constexpr int kCorners = 40;
                for (int k = 0; k < kCorners; ++k) draw->PathLineTo({at.x + half.x * std::cos(static_cast<float>(k) * 6.2832f / kCorners), at.y + half.y * std::sin(static_cast<float>(k) * 6.2832f / kCorners)});
                draw->PathStroke(ink, ImDrawFlags_Closed, wide);
            } else if (each.shape == PointerShape::outline) draw->AddRect({at.x - half.x, at.y - half.y}, {at.x + half.x, at.y + half.y}, ink, 0, 0, wide);
            else draw->AddCircle(at, px(5), ink, 0, wide);
        });
        probe().mark("pointer " + std::to_string(i), at.x - half.x, at.y - half.y, 2 * half.x, 2 * half.y, each.text);
        if (each.text.empty()) continue;
        const ImVec2 need = ImGui::CalcTextSize(each.text.c_str());
        const float out = each.shape == PointerShape::arrow ? px(52) : half.x + px(8);
        const ImVec2 from{side > 0 ? at.x + out : at.x - out - need.x - px(12), at.y + (each.shape == PointerShape::arrow ? px(39) : 0) - need.y / 2};
        draw->AddRectFilled({from.x, from.y - px(3)}, {from.x + need.x + px(12), from.y + need.y + px(3)}, colour(film::kInk), px(4));
        draw->AddText({from.x + px(6), from.y}, colour(film::kMist), each.text.c_str());
    }
}

void ClipDesk::nudge(Workplace& w, int dx, int dy, bool size) {
    Passage* p = chosen_passage();
    if (!p || !placing() || hand_.holding()) return;
    const ShareBox old = hand_.window(*p->close_up);
    const ShareBox now = size ? resized(old, dx > 0 || dy < 0 ? kStep : 1 / kStep) : moved(old, kNudge * dx, kNudge * dy);
    if (now == old) return;
    w.player.play(false);
    p->close_up = hand_.with(*p->close_up, now);
    change(w, "place a close-up");
}

std::string ClipDesk::close_up_words(const Passage& p) {
    if (!p.close_up) return "";
    const double a = enlarged(fitted(p.close_up->first));
    if (!p.close_up->last) return "close-up " + times(a);
    return "close-up " + times(a) + " to " + times(enlarged(fitted(*p.close_up->last)));
}

// What a passage does besides running.
std::string ClipDesk::passage_words(const Passage& p) {
    const std::string holds = p.holds.empty() ? "" : std::to_string(p.holds.size()) + (p.holds.size() == 1 ? " hold" : " holds");
    const std::string large = close_up_words(p);
    return holds + (holds.empty() || large.empty() ? "" : ", ") + large;
}

void ClipDesk::draw_close_up(Workplace& w, Passage& p) {
    if (button("close-up", "Close-up", "C", placing() ? Look::chosen : Look::plain)) return close_up(w);
    tip("Shows a part of the picture large. Draw the part on the picture.");
    if (!p.close_up) return;
    ImGui::SameLine();
    if (button("no close-up", "Take away", "", Look::danger)) {
        p.close_up.reset();
        stop_placing();
        return change(w, "take a close-up away");
    }
    tip("The passage shows the whole picture again");
    if (!placing()) return quiet(close_up_words(p).c_str());
    ImGui::Dummy({0, 0});
    if (chip("close-up begins", "Where it begins", !hand_.second)) return place(w, false);
    tip("Place the window as it is when the passage begins");
    if (chip("close-up ends", p.close_up->last ? "Where it ends" : "Let it move", hand_.second)) return place(w, true);
    tip("Place the window as it is at the end: it moves there, slowly at first and at last");
    if (p.close_up->last) draw_close_up_way(w, p);
    quiet("Drag the frame or a corner. Arrows move it, Shift and arrows size it. C or Esc when done.");
}

// When it moves.
void ClipDesk::draw_close_up_way(Workplace& w, Passage& p) {
    const Recording* r = w.view.recording(p.recording);
    if (!r) return;
    CloseUp& c = *p.close_up;
    if (chip("close-up stays", "Stay still", false)) {
        c.last.reset(), c.moving.reset();
        hand_.second = false;
        return change(w, "let a close-up stay");
    }
    tip("Only the first window, all through the passage");
    const RecordingTime now = r->recording_time(w.player.at());
    const RecordingSpan way = c.moving.value_or(p.span);
    if (button("close-up moves from", "Moves from here", "", Look::plain, now >= p.span.start && now < way.end)) {
        c.moving = RecordingSpan{now, way.end};
        return change(w, "set when a close-up moves");
    }
    tip("Until this frame it rests where it begins");
    ImGui::SameLine();
    if (button("close-up moves until", "Until here", "", Look::plain, now > way.start && now <= p.span.end)) {
        c.moving = RecordingSpan{way.start, now};
        return change(w, "set when a close-up moves");
    }
    tip("From this frame on it rests where it ends");
    const std::string words = c.moving ? "Moves from " + short_time(way.start.ns) + " to " + short_time(way.end.ns) : "Moves all through the passage";
    quiet(words.c_str());
    probe().mark("close-up way", ImGui::GetItemRectMin().x, ImGui::GetItemRectMin().y, ImGui::GetItemRectSize().x, ImGui::GetItemRectSize().y, words);
}

}  // namespace canalogue::editor
