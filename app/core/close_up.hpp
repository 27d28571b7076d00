// The close-up window of a passage: the part of the picture that the film shows large, in its place, and
// how it moves from one position to another.
#pragma once

#include <optional>
#include <string>

#include "app/core/time.hpp"

namespace canalogue {

// A place in a picture in shares of it, upright: 0 is the left or upper edge, 1 the right or lower one.
// The same whatever the size of the picture. Equal shares have the picture's own shape.
struct ShareBox {
    double x = 0, y = 0, w = 1, h = 1;
    double right() const { return x + w; }
    double bottom() const { return y + h; }
    bool operator==(const ShareBox&) const = default;
};

struct CloseUp {
    ShareBox first;
    std::optional<ShareBox> last;         // none: the window stays where it is
    std::optional<RecordingSpan> moving;  // when it goes from first to last; none: all through the passage
    bool operator==(const CloseUp&) const = default;
};

inline constexpr double kMostEnlarged = 6.0;  // beyond it, a recording has nothing more to show

// What is wrong with it in a passage of this span, as the end of a sentence; empty when nothing is.
std::string fault_of(const CloseUp& close_up, const RecordingSpan& passage);

// The window that is shown for one that was asked for: the shorter side grows until the window has the
// picture's own shape, about its middle; then it is moved until it lies in the picture.
ShareBox fitted(const ShareBox& asked);

// The window at an instant of the recording, fitted. It rests, moves with a soft start and end
// (3u^2 - 2u^3), and rests; while the picture is held it stands too.
ShareBox shown_at(const CloseUp& close_up, const RecordingSpan& passage, RecordingTime t);

// How many times larger than in the whole picture things are in a fitted window.
double enlarged(const ShareBox& window);
double most_enlarged(const CloseUp& close_up);
// Whether a viewer has to be told that this is not the whole picture.
bool is_close_up(const ShareBox& window);

// For the hand; all give fitted windows of an allowed size.
ShareBox moved(const ShareBox& window, double dx, double dy);
ShareBox resized(const ShareBox& window, double factor);  // about its middle
// One corner stays, the opposite one goes towards (x, y).
ShareBox stretched(double corner_x, double corner_y, double x, double y);

// What is left of it when the passage becomes this span: a way that was finished before has been gone, one
// that would begin later is not.
CloseUp trimmed(const CloseUp& close_up, const RecordingSpan& passage);

}  // namespace canalogue
