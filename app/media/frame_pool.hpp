// Planes of frames that are made over and over: a film's pictures come and go thirty times a second, and fresh memory for each
// (its pages cleared by the system) costs more than filling it.
#pragma once

#include "app/core/geometry.hpp"
#include "app/media/libav.hpp"

namespace canalogue::media {

// A frame whose planes were another's before, when such are free; what they hold is not told. Each thread keeps the planes of the
// few forms it asked for last; a frame may be freed on any thread, also after its maker has ended. nullptr when memory is short.
FramePtr pooled_frame(AVPixelFormat format, Size size);

// Where a picture is to lie on a larger frame. x and y are even.
struct Sheet {
    Size size;
    int x = 0, y = 0;
    bool operator==(const Sheet&) const = default;
};

// A frame of `window` pixels whose planes are a part of a larger frame's: what is written into it is there already. 8-bit 4:2:0.
FramePtr pooled_window(const Sheet& sheet, Size window);

// The larger frame around such a window, sharing its planes; what lies beside the window is not told. nullptr when memory is short.
FramePtr around_window(const AVFrame& window, const Sheet& sheet);

}  // namespace canalogue::media
