#include "app/editor/screen.hpp"

#include <epoxy/gl.h>

#include <backends/imgui_impl_opengl3.h>

#include <algorithm>
#include <cmath>
#include <vector>

namespace canalogue::editor {

void Screen::close() {
    if (frame_buffer_) glDeleteFramebuffers(1, &frame_buffer_), glDeleteTextures(1, &texture_);
    frame_buffer_ = texture_ = 0;
    size_ = {};
}

void Screen::make(Size pixels) {
    if (!frame_buffer_) glGenFramebuffers(1, &frame_buffer_), glGenTextures(1, &texture_);
    glBindTexture(GL_TEXTURE_2D, texture_);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, pixels.w, pixels.h, 0, GL_RGBA, GL_UNSIGNED_BYTE, nullptr);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_NEAREST);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_NEAREST);
    glBindFramebuffer(GL_FRAMEBUFFER, frame_buffer_);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, texture_, 0);
    size_ = pixels;
    redraw_.forget();
}

void Screen::clear(const ImDrawData& frame, const Part& part) const {
    const float x = frame.FramebufferScale.x, y = frame.FramebufferScale.y;
    glEnable(GL_SCISSOR_TEST);
    // Counted from below.
    glScissor(static_cast<int>(part.a.x * x), size_.h - static_cast<int>(std::ceil(part.b.y * y)), static_cast<int>(std::ceil((part.b.x - part.a.x) * x)), static_cast<int>(std::ceil((part.b.y - part.a.y) * y)));
    glClear(GL_COLOR_BUFFER_BIT);
}

// Each command is clipped to the part besides; those that do not reach it are left out by ImGui's own drawing.
void Screen::draw_part(ImDrawData& frame, const Part& part) {
    std::vector<ImVec4> before;
    for (int l = 0; l < frame.CmdListsCount; ++l)
        for (ImDrawCmd& c : frame.CmdLists[l]->CmdBuffer) {
            before.push_back(c.ClipRect);
            // On whole pixels: ImGui's drawing cuts off what is left of one, and a row at the part's edge with it.
            const ImVec4& r = c.ClipRect;
            c.ClipRect = {std::max(std::floor(r.x), part.a.x), std::max(std::floor(r.y), part.a.y), std::min(std::ceil(r.z), part.b.x), std::min(std::ceil(r.w), part.b.y)};
        }
    ImGui_ImplOpenGL3_RenderDrawData(&frame);
    auto kept = before.begin();
    for (int l = 0; l < frame.CmdListsCount; ++l)
        for (ImDrawCmd& c : frame.CmdLists[l]->CmdBuffer) c.ClipRect = *kept++;
}

void Screen::draw(ImDrawData& frame, Size pixels, Rgb ground) {
    if (pixels.w <= 0 || pixels.h <= 0) return;  // shrunk to an icon
    if (!frame_buffer_ || size_.w != pixels.w || size_.h != pixels.h) make(pixels);
    glBindFramebuffer(GL_FRAMEBUFFER, frame_buffer_);
    glClearColor(static_cast<float>(ground.r) / 255, static_cast<float>(ground.g) / 255, static_cast<float>(ground.b) / 255, 1);
    for (const Part& part : redraw_.changed(frame)) clear(frame, part), draw_part(frame, part);
    // What the window's own buffer holds after it was shown is not told; a copy of it all is cheap.
    glDisable(GL_SCISSOR_TEST);
    glBindFramebuffer(GL_READ_FRAMEBUFFER, frame_buffer_);
    glBindFramebuffer(GL_DRAW_FRAMEBUFFER, 0);
    glBlitFramebuffer(0, 0, pixels.w, pixels.h, 0, 0, pixels.w, pixels.h, GL_COLOR_BUFFER_BIT, GL_NEAREST);
    glBindFramebuffer(GL_FRAMEBUFFER, 0);
}

}  // namespace canalogue::editor
