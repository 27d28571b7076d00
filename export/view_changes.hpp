// Changes of a covered picture in film form (8-bit 4:2:0 BT.709 limited range): turned, mirrored, its light changed.
#pragma once

#include <algorithm>
#include <cmath>
#include <memory>

#include "app/core/view.hpp"
#include "app/media/picture.hpp"

namespace canalogue::film {

// Factors of red, green and blue, of values as they are stored (gamma 2.4: f stops are a factor of 2 ^ (f / 2.4)).
struct LightChange {
    double red = 1, green = 1, blue = 1;
    bool none() const { return std::max({std::abs(red - 1), std::abs(green - 1), std::abs(blue - 1)}) < 1e-6; }
};

// Mean red, green and blue (0..1, as stored) of what a window of the picture shows; parts darker than a tenth or nearly white
// tell no colour and are left out. Weight 0: nothing was left.
struct MeanColour {
    double red = 0, green = 0, blue = 0, weight = 0;
    void add(const AVFrame& frame, const ShareBox& window);
};

// What makes a mean grey without changing how light it is (BT.709 luma), each factor within 0.5 .. 2, and then the brightness.
LightChange light_for(const MeanColour& white, double brightness);

class ViewChanger {
  public:
    // Mirrors, turns clockwise about the middle (what comes in from outside is black), and changes the light, in this order. The
    // frame that comes in is left alone. Null when memory is short.
    std::shared_ptr<AVFrame> apply(const std::shared_ptr<AVFrame>& frame, const ViewChange& view, const LightChange& light);
};

// The mean of pictures of one size: one that is quickened shows motion instead of jumps. Null when memory is short.
std::shared_ptr<AVFrame> mean_of(const std::vector<std::shared_ptr<AVFrame>>& frames);

}  // namespace canalogue::film
