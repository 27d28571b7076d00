// How the window looks: the colours, and what ImGui is told of them. Contrast of every pair that
// carries text is tested (WCAG 2.2, 1.4.3).
#pragma once

#include <imgui.h>

#include <string>

#include "export/palette.hpp"

namespace canalogue::editor {

using film::Rgb;

// One set of colours; the light twin has the same members.
struct Theme {
    Rgb ground;   // behind everything
    Rgb panel;    // rail, lists, desks
    Rgb raised;   // buttons, fields, cards
    Rgb edge;     // lines between
    Rgb text;
    Rgb quiet;    // second text
    Rgb accent;   // the one accent: what is chosen, what comes next
    Rgb on_accent;
    Rgb danger;   // what must not be overlooked; always with words
};

const Theme& dark_theme();
const Theme& light_theme();

// The one in use; changed on the window's thread only.
const Theme& theme();
void use_theme(bool light);

ImU32 colour(const Rgb& rgb, float alpha = 1.0f);
ImVec4 colour4(const Rgb& rgb, float alpha = 1.0f);

// Fonts by role, loaded for one scale.
struct Fonts {
    ImFont* body = nullptr;   // 16 px at scale 1: nothing is smaller
    ImFont* strong = nullptr;
    ImFont* title = nullptr;  // 22 px
    ImFont* large = nullptr;  // 30 px: the side, the clock
};

// Loads fonts and sets ImGui's style for this scale. Call outside of a frame.
Fonts dress(float scale);

}  // namespace canalogue::editor
