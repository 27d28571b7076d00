// How a passage's picture is changed after covering: each change is the viewer's to know (the film says so).
#pragma once

#include <optional>
#include <string>
#include <utility>

#include "app/core/close_up.hpp"
#include "app/core/time.hpp"

namespace canalogue {

// What is taken for grey: a part of the picture at an instant, or all that is seen over a span.
struct WhiteReference {
    RecordingTime at;
    std::optional<ShareBox> grey;
    std::optional<RecordingSpan> over;
    bool operator==(const WhiteReference&) const = default;
};

struct ViewChange {
    double turn = 0;        // degrees clockwise about the picture's middle, -180 .. 180
    bool mirrored = false;  // left and right changed over; before turning
    double brightness = 0;  // stops, -2 .. 2: each doubles or halves the light (BT.709 values are taken for linear ^ 1/2.4)
    std::optional<WhiteReference> white;
    bool steady = false;    // small shakes are taken out
    bool operator==(const ViewChange&) const = default;

    bool shape_changed() const { return turn != 0 || mirrored; }
    bool light_changed() const { return brightness != 0 || white.has_value(); }
};

inline constexpr double kMostBrightness = 2.0;

// Where a place of the whole upright picture (in shares) comes to lie in what is shown of it: `window` of it, mirrored and
// turned; in shares of the shown picture, outside 0..1 when it is not in view. aspect: width by height of the shown picture.
std::pair<double, double> in_view(const ViewChange& view, const ShareBox& window, double aspect, double x, double y);

// For viewers: "mirrored, turned 15 degrees clockwise, white balanced"; empty when nothing is changed.
std::string words_of(const ViewChange& view);

}  // namespace canalogue
