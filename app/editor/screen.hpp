// What stands in the window, kept from frame to frame, so that only what changed is drawn (see redraw.hpp). Needs a current OpenGL
// 3.3 context, whose window's framebuffer it draws to; the thread of that context.
#pragma once

#include "app/core/geometry.hpp"
#include "app/editor/redraw.hpp"
#include "app/editor/theme.hpp"

namespace canalogue::editor {

class Screen {
  public:
    Screen() = default;
    Screen(const Screen&) = delete;
    Screen& operator=(const Screen&) = delete;

    // `pixels`: the size of the window's framebuffer. `ground` is where `frame` draws nothing.
    void draw(ImDrawData& frame, Size pixels, Rgb ground);
    // All is drawn the next time: the fonts or the colours are others.
    void forget() { redraw_.forget(); }
    // Before the context goes.
    void close();

  private:
    void make(Size pixels);
    void clear(const ImDrawData& frame, const Part& part) const;
    void draw_part(ImDrawData& frame, const Part& part);

    Redraw redraw_;
    unsigned frame_buffer_ = 0, texture_ = 0;
    Size size_;
};

}  // namespace canalogue::editor
