// Which parts of the window look different from how they looked when last asked: where the processor draws every pixel, drawing the
// others again takes the time the next picture of a film needs. Pure computing, in ImGui's display units (points); one thread.
#pragma once

#include <imgui.h>

#include <cstdint>
#include <vector>

namespace canalogue::editor {

// A part of the window: from `a` to `b`, without `b`.
struct Part {
    ImVec2 a, b;
    bool operator==(const Part& o) const { return a.x == o.a.x && a.y == o.a.y && b.x == o.b.x && b.y == o.b.y; }
};

// Call when a texture holds another image than before, or is new: its name alone does not tell.
void contents_changed(unsigned texture);

class Redraw {
  public:
    // Few parts, none overlapping another, that together hold every place where this frame differs from the one of the call before;
    // all of the window when its size differs or nothing is known of the frame before. Triangles are compared in the order
    // in which they are drawn, with what they are clipped to, in squares of `kSquare`.
    std::vector<Part> changed(const ImDrawData& frame);
    // What stands there is not what was drawn: the next time it is all of the window.
    void forget() { squares_.clear(); }

    static constexpr int kSquare = 32;

  private:
    std::vector<std::uint64_t> squares_;  // row by row, what is drawn over each
    int columns_ = 0, rows_ = 0;
    ImVec2 size_{0, 0};
};

}  // namespace canalogue::editor
