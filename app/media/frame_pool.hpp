// Planes of frames that are made over and over: a film's pictures come and go thirty times a second, and fresh memory for each
// (its pages cleared by the system) costs more than filling it.
#pragma once

#include "app/core/geometry.hpp"
#include "app/media/libav.hpp"

namespace canalogue::media {

// A frame whose planes were another's before, when such are free; what they hold is not told. Each thread keeps the planes of the
// few forms it asked for last; a frame may be freed on any thread, also after its maker has ended. nullptr when memory is short.
FramePtr pooled_frame(AVPixelFormat format, Size size);

}  // namespace canalogue::media
