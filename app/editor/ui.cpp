#include "app/editor/ui.hpp"

#include <GLFW/glfw3.h>
#include <imgui_internal.h>
#include <imgui_stdlib.h>

#include <algorithm>
#include <cmath>

#include "app/editor/probe.hpp"

namespace canalogue::editor {

namespace {

// What is scrolled out of sight cannot be pressed: a test must not find it either.
void mark(const std::string& name, ImVec2 from, ImVec2 to, const std::string& state = "") {
    const ImVec2 middle{(from.x + to.x) / 2, (from.y + to.y) / 2};
    if (ImGui::IsRectVisible(middle, {middle.x + 1, middle.y + 1})) probe().mark(name, from.x, from.y, to.x - from.x, to.y - from.y, state);
}

void focus_ring(ImVec2 from, ImVec2 to) {
    const float out = px(2);
    ImGui::GetWindowDrawList()->AddRect({from.x - out, from.y - out}, {to.x + out, to.y + out}, colour(theme().accent), px(6), 0, px(2));
}

struct Paint {
    Rgb ground, text;
    bool filled;
};

Paint paint_for(Look look, bool hovered) {
    const Theme& t = theme();
    switch (look) {
        case Look::primary: return {t.accent, t.on_accent, true};
        case Look::chosen: return {t.raised, t.accent, true};
        case Look::danger: return {t.raised, t.danger, true};
        case Look::bare: return {t.raised, t.text, hovered};
        case Look::plain: break;
    }
    return {hovered ? t.edge : t.raised, t.text, true};
}

}  // namespace

Ui& ui() {
    static Ui the;
    return the;
}

void Keys::begin_frame() {
    now_.clear();
    auto next = coming_.begin();
    for (; next != coming_.end(); ++next) {
        const bool again = std::any_of(now_.begin(), now_.end(), [&](const Press& p) { return p.key == next->key; });
        if (again && !next->repeat) break;
        if (!again) now_.push_back(*next);
    }
    coming_.erase(coming_.begin(), next);
}

bool Keys::any(int key, bool repeats, bool ctrl) const {
    return std::any_of(now_.begin(), now_.end(), [&](const Press& p) { return p.key == key && (repeats || !p.repeat) && ((p.modifiers & GLFW_MOD_CONTROL) != 0) == ctrl; });
}

bool Keys::shifted(int key) const {
    return std::any_of(now_.begin(), now_.end(), [&](const Press& p) { return p.key == key && (p.modifiers & GLFW_MOD_SHIFT) != 0; });
}

void Focus::begin_frame() {
    last_.swap(order_);
    order_.clear();
    moved_ = moved_next_;
    moved_next_ = false;
    const Keys& keys = ui().keys;
    enter_ = keys.down(GLFW_KEY_ENTER) || keys.down(GLFW_KEY_KP_ENTER);
    if (keys.held(GLFW_KEY_TAB)) step(keys.shifted(GLFW_KEY_TAB) ? -1 : 1);
    if (keys.down(GLFW_KEY_ESCAPE)) visible_ = false;
    if (ImGui::IsMouseClicked(0)) visible_ = false;
}

void Focus::step(int by) {
    if (last_.empty()) return;
    if (ImGui::GetIO().WantTextInput) ImGui::ClearActiveID();
    const auto it = std::find(last_.begin(), last_.end(), at_);
    const int n = static_cast<int>(last_.size());
    const int i = it == last_.end() ? (by > 0 ? -1 : 0) : static_cast<int>(it - last_.begin());
    at_ = last_[static_cast<std::size_t>((i + by + n) % n)];
    visible_ = moved_ = true;
}

bool Focus::here(const std::string& name) {
    order_.push_back(name);
    return visible_ && at_ == name;
}

bool button(const std::string& name, const std::string& words, const std::string& key, Look look, bool enabled, float width) {
    const ImVec2 text = ImGui::CalcTextSize(words.c_str());
    const ImVec2 hint = key.empty() ? ImVec2{0, 0} : ImGui::CalcTextSize(key.c_str());
    const float pad = px(12), between = key.empty() ? 0 : px(10);
    float w = text.x + 2 * pad + between + hint.x;
    if (width < 0) w = ImGui::GetContentRegionAvail().x;
    else if (width > 0) w = width;
    const float h = px(34);
    const ImVec2 from = ImGui::GetCursorScreenPos(), to{from.x + w, from.y + h};
    ImGui::PushID(name.c_str());
    bool done = ImGui::InvisibleButton("b", {w, h}) && enabled;
    ImGui::PopID();
    const bool hovered = ImGui::IsItemHovered() && enabled;
    if (hovered) ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
    const Paint p = paint_for(look, hovered);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const float alpha = enabled ? 1.0f : 0.55f;
    if (p.filled) draw->AddRectFilled(from, to, colour(p.ground, alpha), px(5));
    if (look == Look::chosen) draw->AddRectFilled(from, {from.x + px(4), to.y}, colour(theme().accent), px(2));
    const float y = from.y + (h - text.y) / 2;
    const bool left = width < 0 || !key.empty();
    draw->PushClipRect(from, to, true);
    draw->AddText({left ? from.x + pad : from.x + (w - text.x) / 2, y}, colour(p.text, alpha), words.c_str());
    if (!key.empty()) draw->AddText({to.x - pad - hint.x, y}, colour(look == Look::primary ? p.text : theme().quiet, alpha), key.c_str());
    draw->PopClipRect();
    mark(name, from, to, enabled ? (look == Look::chosen ? "on" : "") : "off");
    if (enabled) {
        if (ui().focus.here(name)) focus_ring(from, to);
        done = done || ui().focus.pressed(name);
    }
    return done;
}

bool sound_button(const std::string& name, bool off) {
    const float side = px(34);
    const ImVec2 from = ImGui::GetCursorScreenPos(), to{from.x + side, from.y + side};
    ImGui::PushID(name.c_str());
    const bool done = ImGui::InvisibleButton("s", {side, side});
    ImGui::PopID();
    const bool hovered = ImGui::IsItemHovered();
    if (hovered) ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const Theme& t = theme();
    if (hovered) draw->AddRectFilled(from, to, colour(t.raised), px(5));
    const ImU32 ink = colour(off ? t.quiet : t.text);
    const ImVec2 m{from.x + side / 2, from.y + side / 2};
    draw->AddRectFilled({m.x - px(9), m.y - px(3)}, {m.x - px(4), m.y + px(3)}, ink);
    draw->AddQuadFilled({m.x - px(5), m.y - px(3)}, {m.x + px(1), m.y - px(8)}, {m.x + px(1), m.y + px(8)}, {m.x - px(5), m.y + px(3)}, ink);
    if (off) {
        draw->AddLine({m.x + px(4), m.y - px(4)}, {m.x + px(11), m.y + px(4)}, ink, px(2));
        draw->AddLine({m.x + px(4), m.y + px(4)}, {m.x + px(11), m.y - px(4)}, ink, px(2));
    } else {
        for (const float r : {5.0f, 9.0f}) {
            draw->PathArcTo({m.x + px(2), m.y}, px(r), -0.8f, 0.8f);
            draw->PathStroke(ink, 0, px(1.6f));
        }
    }
    mark(name, from, to, off ? "on" : "");
    if (ui().focus.here(name)) focus_ring(from, to);
    return done || ui().focus.pressed(name);
}

Slide slider(const std::string& name, double& value, float width, bool dim) {
    const float h = px(34), knob = px(7);
    const ImVec2 from = ImGui::GetCursorScreenPos(), to{from.x + width, from.y + h};
    ImGui::PushID(name.c_str());
    ImGui::InvisibleButton("v", {width, h});
    ImGui::PopID();
    if (ImGui::IsItemHovered()) ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
    const float left = from.x + knob, room = width - 2 * knob, y = from.y + h / 2;
    Slide s;
    if (ImGui::IsItemActive()) {
        value = std::clamp(static_cast<double>((ImGui::GetIO().MousePos.x - left) / room), 0.0, 1.0);
        s.moved = true;
    }
    s.done = ImGui::IsItemDeactivated();
    const float at = left + room * static_cast<float>(value);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const Theme& t = theme();
    draw->AddRectFilled({left, y - px(2)}, {left + room, y + px(2)}, colour(t.edge), px(2));
    draw->AddRectFilled({left, y - px(2)}, {at, y + px(2)}, colour(dim ? t.quiet : t.accent), px(2));
    draw->AddCircleFilled({at, y}, knob, colour(dim ? t.quiet : t.accent));
    mark(name, from, to, std::to_string(static_cast<int>(std::lround(value * 100))));
    return s;
}

bool chip(const std::string& name, const std::string& words, bool chosen) {
    const ImVec2 text = ImGui::CalcTextSize(words.c_str());
    const float w = text.x + px(22), h = px(30);
    // Wraps like words do.
    const float right = ImGui::GetWindowPos().x + ImGui::GetWindowContentRegionMax().x;
    const bool first = ImGui::GetItemRectSize().x == 0;  // after an empty item a row begins
    if (first) ImGui::SameLine(0, 0);
    else if (ImGui::GetItemRectMax().x + px(6) + w < right) ImGui::SameLine(0, px(6));
    const ImVec2 from = ImGui::GetCursorScreenPos(), to{from.x + w, from.y + h};
    ImGui::PushID(name.c_str());
    bool done = ImGui::InvisibleButton("c", {w, h});
    ImGui::PopID();
    if (ImGui::IsItemHovered()) ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const Theme& t = theme();
    draw->AddRectFilled(from, to, colour(chosen ? t.accent : ImGui::IsItemHovered() ? t.edge : t.raised), h / 2);
    draw->AddText({from.x + px(11), from.y + (h - text.y) / 2}, colour(chosen ? t.on_accent : t.text), words.c_str());
    mark(name, from, to, chosen ? "on" : "");
    if (ui().focus.here(name)) focus_ring(from, to);
    return done || ui().focus.pressed(name);
}

static bool enter_pressed() { return ui().keys.down(GLFW_KEY_ENTER) || ui().keys.down(GLFW_KEY_KP_ENTER); }

bool field(const std::string& name, std::string& text, const char* hint, float width, bool secret) {
    ImGui::PushID(name.c_str());
    ImGui::PushAllowKeyboardFocus(false);
    ImGui::SetNextItemWidth(width < 0 ? ImGui::GetContentRegionAvail().x : width);
    const bool focused = ui().focus.here(name);
    if (ui().focus.arrived(name)) ImGui::SetKeyboardFocusHere();
    ImGuiInputTextFlags flags = ImGuiInputTextFlags_AutoSelectAll;
    if (secret) flags |= ImGuiInputTextFlags_Password;
    ImGui::InputTextWithHint("##f", hint, &text, flags);
    bool done = ImGui::IsItemDeactivatedAfterEdit();
    // A short press of Enter falls between two looks of ImGui at the keyboard, and the field would go on.
    if (ImGui::IsItemActive() && enter_pressed()) {
        done = ImGui::GetCurrentContext()->ActiveIdHasBeenEditedBefore;
        ImGui::ClearActiveID();
        ui().written_in = name, ui().written_at = ImGui::GetFrameCount();
    }
    // So does one of Esc; what was typed is taken back, as ImGui does when it sees the key.
    if (ImGui::IsItemActive() && ui().keys.down(GLFW_KEY_ESCAPE)) {
        if (const ImGuiInputTextState* state = ImGui::GetInputTextState(ImGui::GetItemID()); state && !state->InitialTextA.empty()) text = state->InitialTextA.Data;
        done = false;
        ImGui::ClearActiveID();
    }
    mark(name, ImGui::GetItemRectMin(), ImGui::GetItemRectMax(), secret ? "" : text);
    // Where the ground is as dark as the field, only its edge tells where to write.
    ImGui::GetWindowDrawList()->AddRect(ImGui::GetItemRectMin(), ImGui::GetItemRectMax(), colour(theme().edge), ImGui::GetStyle().FrameRounding);
    if (ImGui::IsItemActive()) {
        probe().mark("keyboard", 0, 0, 1, 1, name);
        ui().written_in = name, ui().written_at = ImGui::GetFrameCount();
    }
    if (focused || ImGui::IsItemActive()) focus_ring(ImGui::GetItemRectMin(), ImGui::GetItemRectMax());
    ImGui::PopAllowKeyboardFocus();
    ImGui::PopID();
    return done;
}

bool entered(const std::string& name) {
    return enter_pressed() && ui().written_in == name && ImGui::GetFrameCount() - ui().written_at <= 1;
}

Row row(const std::string& name, float height, bool chosen) {
    Row r;
    r.from = ImGui::GetCursorScreenPos();
    const float w = ImGui::GetContentRegionAvail().x;
    r.to = {r.from.x + w, r.from.y + height};
    ImGui::PushID(name.c_str());
    r.pressed = ImGui::InvisibleButton("r", {w, height});
    ImGui::PopID();
    r.hovered = ImGui::IsItemHovered();
    ImDrawList* draw = ImGui::GetWindowDrawList();
    if (chosen || r.hovered) draw->AddRectFilled(r.from, r.to, colour(theme().raised, chosen ? 1.0f : 0.6f), px(5));
    if (chosen) draw->AddRectFilled(r.from, {r.from.x + px(4), r.to.y}, colour(theme().accent), px(2));
    mark(name, r.from, r.to, chosen ? "on" : "");
    if (ui().focus.here(name)) focus_ring(r.from, r.to);
    r.pressed = r.pressed || ui().focus.pressed(name);
    return r;
}

void picture_in(ImVec2 from, ImVec2 size, unsigned texture, ImVec2 a, ImVec2 b) {
    const ImVec2 to{from.x + size.x, from.y + size.y};
    const float left = std::clamp(a.x, from.x, to.x), right = std::clamp(b.x, from.x, to.x), top = std::clamp(a.y, from.y, to.y), bottom = std::clamp(b.y, from.y, to.y);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const std::pair<ImVec2, ImVec2> bars[] = {{from, {to.x, top}}, {{from.x, bottom}, to}, {{from.x, top}, {left, bottom}}, {{right, top}, {to.x, bottom}}};
    for (const auto& [corner, opposite] : bars)
        if (corner.x < opposite.x && corner.y < opposite.y) draw->AddRectFilled(corner, opposite, IM_COL32(0, 0, 0, 255));
    draw->PushClipRect(from, to, true);
    draw->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::intptr_t>(texture)), a, b);
    draw->PopClipRect();
}

void title(const char* words) {
    ImGui::PushFont(ui().fonts.title);
    ImGui::TextUnformatted(words);
    ImGui::PopFont();
}

void strong(const char* words) {
    ImGui::PushFont(ui().fonts.strong);
    ImGui::TextUnformatted(words);
    ImGui::PopFont();
}

void said(const char* words, Rgb rgb) {
    ImGui::PushStyleColor(ImGuiCol_Text, colour4(rgb));
    ImGui::PushTextWrapPos(0);
    ImGui::TextUnformatted(words);
    ImGui::PopTextWrapPos();
    ImGui::PopStyleColor();
}

void quiet(const char* words) { said(words, theme().quiet); }

void indented(const std::string& lines) {
    const float blank = ImGui::CalcTextSize(" ").x;
    for (std::size_t at = 0; at < lines.size();) {
        const std::size_t end = std::min(lines.find('\n', at), lines.size()), first = std::min(lines.find_first_not_of(' ', at), end);
        const float in = blank * static_cast<float>(first - at);
        if (in > 0) ImGui::Indent(in);
        ImGui::PushTextWrapPos(0);
        ImGui::TextUnformatted(lines.data() + first, lines.data() + end);
        ImGui::PopTextWrapPos();
        if (in > 0) ImGui::Unindent(in);
        at = end + 1;
    }
}

void text_within(ImVec2 at, float width, const std::string& words, Rgb rgb, ImFont* font) {
    if (font) ImGui::PushFont(font);
    std::string shown = words;
    if (ImGui::CalcTextSize(shown.c_str()).x > width) {
        while (!shown.empty() && ImGui::CalcTextSize((shown + "\u2026").c_str()).x > width) {
            shown.pop_back();
            while (!shown.empty() && (static_cast<unsigned char>(shown.back()) & 0xC0) == 0x80) shown.pop_back();
        }
        shown += "\u2026";
    }
    ImGui::GetWindowDrawList()->AddText(at, colour(rgb), shown.c_str());
    const float height = ImGui::GetFontSize();
    if (font) ImGui::PopFont();
    if (shown != words && ImGui::IsWindowHovered() && ImGui::IsMouseHoveringRect(at, {at.x + width, at.y + height})) ImGui::SetTooltip("%s", words.c_str());
}

void text_in_two(ImVec2 at, ImVec2 room, const std::string& words, Rgb ink) {
    const float line = ImGui::GetFontSize();
    std::size_t cut = std::string::npos;
    if (ImGui::CalcTextSize(words.c_str()).x > room.x)
        for (std::size_t i = words.find(' '); i != std::string::npos; i = words.find(' ', i + 1))
            if (ImGui::CalcTextSize(words.substr(0, i).c_str()).x <= room.x) cut = i;
    if (cut == std::string::npos) return text_within({at.x, at.y + (room.y - line) / 2}, room.x, words, ink);
    text_within({at.x, at.y + room.y / 2 - line}, room.x, words.substr(0, cut), ink);
    text_within({at.x, at.y + room.y / 2}, room.x, words.substr(cut + 1), ink);
}

void gap(float pixels) { ImGui::Dummy({0, px(pixels)}); }

}  // namespace canalogue::editor
