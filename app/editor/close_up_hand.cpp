#include "app/editor/close_up_hand.hpp"

#include <algorithm>
#include <cmath>

#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {

constexpr float kReach = 14, kHandle = 6, kSlip = 4;  // at scale 1

ImVec2 screen(double x, double y, const PictureOnScreen& p) { return {p.origin.x + static_cast<float>(x) * p.size.x, p.origin.y + static_cast<float>(y) * p.size.y}; }
ImVec2 shares(ImVec2 s, const PictureOnScreen& p) { return {(s.x - p.origin.x) / p.size.x, (s.y - p.origin.y) / p.size.y}; }

struct Corners {
    ImVec2 a, b;  // upper left, lower right, on the screen
};
Corners corners(const ShareBox& w, const PictureOnScreen& p) { return {screen(w.x, w.y, p), screen(w.right(), w.bottom(), p)}; }

// What the film would not show is dimmed.
void dim_around(const Corners& c, const PictureOnScreen& p) {
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const ImVec2 a = p.origin, b{p.origin.x + p.size.x, p.origin.y + p.size.y};
    const ImU32 dim = IM_COL32(0, 0, 0, 130);
    draw->AddRectFilled(a, {b.x, c.a.y}, dim);
    draw->AddRectFilled({a.x, c.b.y}, b, dim);
    draw->AddRectFilled({a.x, c.a.y}, {c.a.x, c.b.y}, dim);
    draw->AddRectFilled({c.b.x, c.a.y}, {b.x, c.b.y}, dim);
}

// Light on dark: seen on bright wax and on black alike.
void outline(const Corners& c, Rgb line, float width) {
    ImDrawList* draw = ImGui::GetWindowDrawList();
    draw->AddRect(c.a, c.b, IM_COL32(0, 0, 0, 200), 0, 0, px(width + 2.5f));
    draw->AddRect(c.a, c.b, colour(line), 0, 0, px(width));
}

// Inside the window's lower left, where the plaques of the picture never are.
void name_it(const Corners& c, const std::string& words, Rgb text) {
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const ImVec2 need = ImGui::CalcTextSize(words.c_str());
    const ImVec2 a{c.a.x + px(8), c.b.y - need.y - px(14)};
    draw->AddRectFilled(a, {a.x + need.x + px(12), a.y + need.y + px(6)}, colour(film::kInk), px(4));
    draw->AddText({a.x + px(6), a.y + px(3)}, colour(text), words.c_str());
}

std::string times(const ShareBox& w) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1fx", enlarged(w));
    return text;
}

}  // namespace

CloseUp CloseUpHand::with(const CloseUp& c, const ShareBox& window) const {
    CloseUp out = c;
    (second ? out.last.emplace() : out.first) = window;
    return out;
}

// Corners first, then the inside; elsewhere a new window is drawn.
CloseUpHand::Grip CloseUpHand::grip_at(ImVec2 mouse, const ShareBox& window, const PictureOnScreen& picture) {
    const Corners c = corners(window, picture);
    for (int i = 0; i < 4; ++i) {
        const bool right = i & 1, down = i & 2;
        const ImVec2 at{right ? c.b.x : c.a.x, down ? c.b.y : c.a.y};
        if (std::hypot(mouse.x - at.x, mouse.y - at.y) > px(kReach)) continue;
        stays_ = {static_cast<float>(right ? window.x : window.right()), static_cast<float>(down ? window.y : window.bottom())};
        return Grip::corner;
    }
    if (mouse.x >= c.a.x && mouse.x < c.b.x && mouse.y >= c.a.y && mouse.y < c.b.y) return Grip::inside;
    stays_ = shares(mouse, picture);
    return Grip::fresh;
}

void CloseUpHand::follow(ImVec2 mouse, const PictureOnScreen& picture) {
    const ImVec2 at = shares(mouse, picture);
    // A slip of the hand is neither a move nor a new window.
    if (!held_ && std::hypot((at.x - grabbed_.x) * picture.size.x, (at.y - grabbed_.y) * picture.size.y) < px(kSlip)) return;
    if (grip_ == Grip::inside) held_ = moved(before_, at.x - grabbed_.x, at.y - grabbed_.y);
    else held_ = stretched(stays_.x, stays_.y, at.x, at.y);
}

void CloseUpHand::draw(const CloseUp& c, const PictureOnScreen& picture) const {
    const ShareBox now = window(c);
    const Corners mine = corners(now, picture);
    dim_around(mine, picture);
    const bool two = c.last.has_value();
    if (two) {
        const ShareBox other = fitted(second ? c.first : *c.last);
        const Corners its = corners(other, picture);
        ImGui::GetWindowDrawList()->AddLine({(mine.a.x + mine.b.x) / 2, (mine.a.y + mine.b.y) / 2}, {(its.a.x + its.b.x) / 2, (its.a.y + its.b.y) / 2}, colour(film::kMist, 0.7f), px(1.5f));
        outline(its, film::kMist, 1.5f);
        name_it(its, second ? "Begins" : "Ends", film::kMist);
    }
    outline(mine, film::kAmber, 2.5f);
    ImDrawList* list = ImGui::GetWindowDrawList();
    for (int i = 0; i < 4; ++i) {
        const ImVec2 at{i & 1 ? mine.b.x : mine.a.x, i & 2 ? mine.b.y : mine.a.y};
        const float r = px(kHandle);
        list->AddRectFilled({at.x - r - 1, at.y - r - 1}, {at.x + r + 1, at.y + r + 1}, colour(film::kInk));
        list->AddRectFilled({at.x - r, at.y - r}, {at.x + r, at.y + r}, colour(film::kAmber));
    }
    name_it(mine, (two || second ? (second ? "Ends  " : "Begins  ") : "Close-up  ") + times(now), film::kAmber);
    char place[64];
    std::snprintf(place, sizeof place, "%.3f %.3f %.3f", now.x, now.y, now.w);
    probe().mark("close-up window", mine.a.x, mine.a.y, mine.b.x - mine.a.x, mine.b.y - mine.a.y, place);
}

std::optional<CloseUp> CloseUpHand::handle(const CloseUp& c, const PictureOnScreen& picture) {
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    std::optional<CloseUp> out;
    if (picture.over && grip_ == Grip::none) {
        const Grip would = grip_at(mouse, window(c), picture);
        ImGui::SetMouseCursor(would == Grip::corner ? ImGuiMouseCursor_ResizeNWSE : would == Grip::inside ? ImGuiMouseCursor_ResizeAll : ImGuiMouseCursor_Arrow);
        if (ImGui::IsMouseClicked(0)) grip_ = would, before_ = window(c), grabbed_ = shares(mouse, picture);
    }
    if (grip_ != Grip::none) {
        follow(mouse, picture);
        if (!ImGui::IsMouseDown(0)) {
            if (held_) out = with(c, *held_);
            let_go();
        }
    }
    draw(out ? *out : c, picture);
    return out;
}

void CloseUpHand::draw_moving(const ShareBox& now, const PictureOnScreen& picture) {
    const Corners c = corners(now, picture);
    dim_around(c, picture);
    outline(c, film::kAmber, 1.5f);
    name_it(c, "Close-up  " + times(now), film::kMist);
}

}  // namespace canalogue::editor
