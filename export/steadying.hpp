// Small shakes of the hand taken out: how far the view moved is measured from covered pictures, smoothed, and the window that
// is shown goes along with the rest.
#pragma once

#include <vector>

#include "app/core/close_up.hpp"
#include "export/picture_source.hpp"

namespace canalogue::film {

// How far the shown window is to be moved, in shares of the picture, over the time of the recording.
struct SteadyPath {
    RecordingTime from;
    Nanos step = 0;
    std::vector<double> dx, dy;

    // Between two steps it goes straight.
    std::pair<double, double> at(RecordingTime t) const;
};

// The window is that much smaller than what it is to show, so that there is room to move it.
inline constexpr double kSteadyRoom = 0.06;

// Phase correlation of the middle of successive pictures (Kuglin and Hines 1975, as OpenCV has it), summed up to a path; the
// hand's own way is that path smoothed (Gauss, 0.4 s), and what is left of it is the shake. Never more than half of the room.
Result<SteadyPath> steady_path(PictureSource& source, const RecordingSpan& span, int pictures_per_second);

// `window` made smaller by the room and moved.
ShareBox steadied(const ShareBox& window, std::pair<double, double> by);

}  // namespace canalogue::film
