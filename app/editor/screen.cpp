#include "app/editor/screen.hpp"

#include <epoxy/gl.h>

#include <backends/imgui_impl_opengl3.h>

#include <algorithm>
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

// Each command is clipped to the part besides; those that do not reach it are left out by ImGui's own drawing.
void Screen::draw_part(ImDrawData& frame, const Part& part) {
    std::vector<ImVec4> before;
    for (int l = 0; l < frame.CmdListsCount; ++l)
        for (ImDrawCmd& c : frame.CmdLists[l]->CmdBuffer) {
            before.push_back(c.ClipRect);
            c.ClipRect = {std::max(c.ClipRect.x, part.a.x), std::max(c.ClipRect.y, part.a.y), std::min(c.ClipRect.z, part.b.x), std::min(c.ClipRect.w, part.b.y)};
        }
    ImGui_ImplOpenGL3_RenderDrawData(&frame);
    auto kept = before.begin();
    for (int l = 0; l < frame.CmdListsCount; ++l)
        for (ImDrawCmd& c : frame.CmdLists[l]->CmdBuffer) c.ClipRect = *kept++;
}

void Screen::draw(ImDrawData& frame, Size pixels) {
    if (pixels.w <= 0 || pixels.h <= 0) return;  // shrunk to an icon
    if (!frame_buffer_ || size_.w != pixels.w || size_.h != pixels.h) make(pixels);
    glBindFramebuffer(GL_FRAMEBUFFER, frame_buffer_);
    for (const Part& part : redraw_.changed(frame)) draw_part(frame, part);
    // What the window's own buffer holds after it was shown is not told; a copy of it all is cheap.
    glDisable(GL_SCISSOR_TEST);
    glBindFramebuffer(GL_READ_FRAMEBUFFER, frame_buffer_);
    glBindFramebuffer(GL_DRAW_FRAMEBUFFER, 0);
    glBlitFramebuffer(0, 0, pixels.w, pixels.h, 0, 0, pixels.w, pixels.h, GL_COLOR_BUFFER_BIT, GL_NEAREST);
    glBindFramebuffer(GL_FRAMEBUFFER, 0);
}

}  // namespace canalogue::editor
