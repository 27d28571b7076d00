#include "app/editor/theme.hpp"

#include <filesystem>

namespace canalogue::editor {

namespace {

bool light_in_use = false;

constexpr const char* kFonts = "/usr/share/fonts/opentype/inter/";
constexpr const char* kFallback = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf";

ImFont* font(const char* name, float pixels) {
    ImGuiIO& io = ImGui::GetIO();
    // Latin, punctuation, arrows and a few signs; what people type in other scripts is shown as boxes.
    static const ImWchar kRanges[] = {0x20, 0x24F, 0x2010, 0x2027, 0x2030, 0x203A, 0x2190, 0x2199, 0x00D7, 0x00D7, 0x25A0, 0x25FF, 0x2713, 0x2717, 0};
    const std::string file = kFonts + std::string(name) + ".otf";
    std::error_code ec;
    const bool there = std::filesystem::exists(file, ec);
    if (ImFont* f = io.Fonts->AddFontFromFileTTF(there ? file.c_str() : kFallback, pixels, nullptr, kRanges)) return f;
    return io.Fonts->AddFontDefault();
}

}  // namespace

const Theme& dark_theme() {
    static const Theme t{film::kInk, film::kSlate, {0x2A, 0x47, 0x53}, {0x3D, 0x5D, 0x69}, film::kMist, {0xA9, 0xBD, 0xBE}, film::kAmber, film::kInk, {0xFF, 0x9B, 0x7A}};
    return t;
}

const Theme& light_theme() {
    static const Theme t{{0xF4, 0xF1, 0xEA}, {0xEA, 0xE5, 0xDA}, {0xFB, 0xF9, 0xF4}, {0xC4, 0xBC, 0xAB}, film::kInk, {0x3F, 0x55, 0x5C}, {0x7A, 0x4E, 0x05}, {0xFB, 0xF9, 0xF4}, {0x9B, 0x2C, 0x12}};
    return t;
}

const Theme& theme() { return light_in_use ? light_theme() : dark_theme(); }
void use_theme(bool light) { light_in_use = light; }

ImU32 colour(const Rgb& c, float alpha) { return IM_COL32(c.r, c.g, c.b, static_cast<int>(alpha * 255)); }
ImVec4 colour4(const Rgb& c, float alpha) { return {static_cast<float>(c.r) / 255, static_cast<float>(c.g) / 255, static_cast<float>(c.b) / 255, alpha}; }

Fonts dress(float scale) {
    ImGuiIO& io = ImGui::GetIO();
    io.Fonts->Clear();
    // ImGui counts a font's pixels from the top of its tallest letter to the bottom of its deepest: that
    // is 1.21 of Inter's em.
    constexpr float kEm = 1.21f;
    Fonts f;
    f.body = font("Inter-Regular", 16 * kEm * scale);
    f.strong = font("Inter-SemiBold", 16 * kEm * scale);
    f.title = font("Inter-SemiBold", 20 * kEm * scale);
    f.large = font("Inter-Bold", 25 * kEm * scale);
    io.FontDefault = f.body;

    const Theme& t = theme();
    ImGuiStyle style;
    style.WindowRounding = style.ChildRounding = 0;
    style.FrameRounding = style.PopupRounding = style.GrabRounding = style.ScrollbarRounding = 5;
    style.WindowBorderSize = style.ChildBorderSize = 0;
    style.FrameBorderSize = 0;
    style.WindowPadding = {14, 12};
    style.FramePadding = {10, 7};
    style.ItemSpacing = {8, 8};
    style.ItemInnerSpacing = {6, 6};
    style.ScrollbarSize = 12;
    auto* c = style.Colors;
    c[ImGuiCol_Text] = colour4(t.text);
    c[ImGuiCol_TextDisabled] = colour4(t.quiet);
    c[ImGuiCol_WindowBg] = colour4(t.panel);
    c[ImGuiCol_ChildBg] = colour4(t.panel, 0);
    c[ImGuiCol_PopupBg] = colour4(t.raised);
    c[ImGuiCol_Border] = c[ImGuiCol_Separator] = colour4(t.edge);
    c[ImGuiCol_FrameBg] = colour4(t.ground);
    c[ImGuiCol_FrameBgHovered] = c[ImGuiCol_FrameBgActive] = colour4(t.ground);
    c[ImGuiCol_Button] = colour4(t.raised);
    c[ImGuiCol_ButtonHovered] = c[ImGuiCol_ButtonActive] = colour4(t.edge);
    c[ImGuiCol_Header] = colour4(t.raised);
    c[ImGuiCol_HeaderHovered] = c[ImGuiCol_HeaderActive] = colour4(t.edge);
    c[ImGuiCol_CheckMark] = c[ImGuiCol_SliderGrab] = c[ImGuiCol_SliderGrabActive] = colour4(t.accent);
    c[ImGuiCol_TextSelectedBg] = colour4(t.accent, 0.35f);
    c[ImGuiCol_ScrollbarBg] = colour4(t.panel, 0);
    c[ImGuiCol_ScrollbarGrab] = colour4(t.raised);
    c[ImGuiCol_ScrollbarGrabHovered] = c[ImGuiCol_ScrollbarGrabActive] = colour4(t.edge);
    c[ImGuiCol_NavHighlight] = colour4(t.accent, 0);
    c[ImGuiCol_ModalWindowDimBg] = colour4(t.ground, 0.75f);
    style.ScaleAllSizes(scale);
    ImGui::GetStyle() = style;
    return f;
}

}  // namespace canalogue::editor
