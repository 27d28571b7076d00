// Numbers of one picture that tell how clear the view is and whether the scope is in an ear. Pictures
// are 8-bit RGB of any size; the same picture gives the same numbers on one machine.
#pragma once

#include <array>
#include <opencv2/core.hpp>

namespace canalogue::view {

// The picture brought to a fixed scale (longer side 240 pixels), and its grey version 0..255.
struct SmallView {
    cv::Mat rgb;     // CV_8UC3
    cv::Mat grey;    // CV_8U
    cv::Mat bright;  // CV_8U, 255 where the lamp reaches: the field of view, without its dark rim
    double bright_share = 0;
    double bright_mean = 0;  // grey, 0..255; 0 when nothing is bright
};
SmallView small_view(const cv::Mat& rgb);

// What of the bright field is edge: Laplacian energy over its mean brightness squared, as log10.
double focus(const SmallView& view);
// Spread of what is finer than a tenth of the picture, over the mean brightness of the bright field.
double local_contrast(const SmallView& view);

// For telling inside from outside, in the order of kFeatureNames. Chosen to survive another scope:
// ratios, shares and spreads rather than absolute colours or sizes in pixels.
inline constexpr std::array kFeatureNames{
    "dark share", "mean value", "value spread", "saturation", "saturation spread", "edge density",
    "edges on axes", "log red/blue",   "log green/blue", "hue spread",  "warm share",        "cold share",
    "grey share",    "glare share",    "ring 1",        "ring 2",       "ring 3",            "ring 4",
    "corners",       "focus",          "local contrast", "fine edges"};
inline constexpr std::size_t kFeatures = kFeatureNames.size();
using Features = std::array<double, kFeatures>;
Features features(const SmallView& view);

// Shift of the whole view between two pictures of one size (share of the longer side, by phase
// correlation) plus the mean absolute difference (share of the mean brightness) that remains.
double motion(const SmallView& before, const SmallView& after);

}  // namespace canalogue::view
