#include "app/editor/film_transport.hpp"

#include <algorithm>
#include <cmath>

#include "app/editor/film_preview.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {

std::string clock_of(double seconds, bool tenths) {
    const Nanos at = nanos_from_seconds(seconds);
    return format_clock(at) + (tenths ? "." + std::to_string(at / (kSecond / 10) % 10) : "");
}

// The whole film, its items and how far it has gone. A press or a drag goes there.
void draw_bar(FilmPreview& film, const FilmPreview::Outline& outline, ImVec2 from, ImVec2 to) {
    ImGui::SetCursorScreenPos(from);
    ImGui::InvisibleButton("film bar", {to.x - from.x, to.y - from.y});
    const bool held = ImGui::IsItemActive(), over = ImGui::IsItemHovered();
    const double share = std::clamp((ImGui::GetIO().MousePos.x - from.x) / (to.x - from.x), 0.0f, 1.0f);
    const double there = share * outline.length;
    const double frame = 1.0 / std::max(1, film.standing().rate);
    if (held && std::abs(there - film.at()) > frame && (ImGui::IsItemActivated() || ImGui::GetIO().MouseDelta.x != 0)) film.go(there);
    if (over || held) ImGui::SetTooltip("%s", clock_of(there, true).c_str());
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const float middle = std::round((from.y + to.y) / 2), half = px(4);
    const auto x_of = [&](double t) { return from.x + static_cast<float>(outline.length > 0 ? t / outline.length : 0) * (to.x - from.x); };
    const float x = x_of(film.at());
    draw->AddRectFilled({from.x, middle - half}, {to.x, middle + half}, colour(theme().edge), half);
    draw->AddRectFilled({from.x, middle - half}, {x, middle + half}, colour(theme().accent), half);
    for (const double t : outline.items)
        if (t > 0) draw->AddRectFilled({std::round(x_of(t)), middle - px(9)}, {std::round(x_of(t)) + std::max(1.0f, px(1)), middle + px(9)}, colour(theme().quiet));
    draw->AddCircleFilled({x, middle}, px(8), colour(theme().text));
    probe().mark("film bar", from.x, from.y, to.x - from.x, to.y - from.y);
}

}  // namespace

void draw_film_transport(FilmPreview& film, ImVec2 from, float right) {
    const FilmPreview::Outline outline = film.outline();
    const bool ready = outline.length > 0;
    ImGui::SetCursorScreenPos({from.x + px(10), from.y + px(8)});
    if (button("play", film.playing() ? "Stop" : "Play", "Space", Look::primary, ready, px(122))) film.play(!film.playing());
    const ImVec2 after{from.x + px(144), from.y + px(12)};
    if (!ready) return;
    ImGui::PushFont(ui().fonts.title);
    const std::string now = clock_of(film.at(), true);
    ImGui::SetCursorScreenPos(after);
    ImGui::TextUnformatted(now.c_str());
    probe().mark("film clock", after.x, after.y, 1, 1, now);
    // As wide as it can become, so that the bar does not move.
    const float wide = ImGui::CalcTextSize(clock_of(outline.length, true).c_str()).x;
    ImGui::PopFont();
    ImGui::SetCursorScreenPos({after.x + wide + px(12), after.y + px(4)});
    quiet(("of " + clock_of(outline.length, false)).c_str());
    const float begin = ImGui::GetItemRectMax().x + px(20);
    if (right - begin > px(60)) draw_bar(film, outline, {begin, from.y + px(8)}, {right, from.y + px(40)});
}

void go_to_item(FilmPreview& film, int by) {
    const auto items = film.outline().items;
    constexpr double kJustBegun = 0.5;  // from here back it is the one before that is meant
    const double at = film.at();
    if (by > 0) {
        const auto next = std::find_if(items.begin(), items.end(), [&](double t) { return t > at + 0.01; });
        if (next != items.end()) film.go(*next);
        return;
    }
    const auto before = std::find_if(items.rbegin(), items.rend(), [&](double t) { return t < at - kJustBegun; });
    film.go(before == items.rend() ? 0 : *before);
}

}  // namespace canalogue::editor
