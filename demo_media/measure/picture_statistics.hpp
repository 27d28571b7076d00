// Numbers that tell whether a picture looks like the inside of an ear seen through a scope. Used to
// compare drawn pictures with real stills; see README.md.
#pragma once

#include <array>
#include <opencv2/core.hpp>
#include <string_view>
#include <vector>

namespace canalogue::demo {

// Measured at 240 lines (width follows), inside the centred circle of 0.95 of the height.
struct PictureStatistics {
    double hue = 0;         // degrees: mean direction of the hues of coloured pixels (HSV saturation and
                            // value above 0.15), weighted by saturation x value; -180..180
    double hue_spread = 0;  // 0 one hue only .. 1 hues all round (1 - length of the mean direction)
    double saturation = 0;  // mean, 0..1
    double value = 0;       // mean, 0..1
    double edges = 0;       // share of pixels whose Sobel gradient (length, 3x3, on 0..255 grey) exceeds 100
    double glare = 0;       // share of pixels with all channels at or above 240
    double dark = 0;        // share of pixels with value below 0.25
};

inline constexpr std::array<std::string_view, 7> kStatisticNames{"hue",   "hue spread", "saturation", "value",
                                                                 "edges", "glare",      "dark"};
std::array<double, 7> listed(const PictureStatistics& s);

// bgr: 8-bit, any size of at least 16x16.
PictureStatistics measure(const cv::Mat3b& bgr);

struct Range {
    double low = 0, high = 0;
};
// The 5 % and 95 % points of each statistic (linear between ranks), in the order of kStatisticNames.
std::array<Range, 7> usual_ranges(const std::vector<PictureStatistics>& pictures);

}  // namespace canalogue::demo
