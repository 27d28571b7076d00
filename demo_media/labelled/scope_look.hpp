// Other scopes, and what gets into their view: one picture of the demo's scope becomes that of another.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

namespace canalogue::demo::labelled {

struct ScopeLook {
    enum class Rim { round, none, partly, side } rim = Rim::round;
    cv::Vec3f cast{1, 1, 1};      // blue, green, red factors
    double exposure = 1;
    double blood = 0;             // 0..1
    bool water = false, bubbles = false;
    double softness = 0;          // sigma at 720 lines, pixels; below 0: sharpened
    double noise = 3;             // standard deviation, of 255
    std::uint64_t seed = 0;

    std::vector<std::string> words() const;  // for the truth: "brown cast", "water"
};

// `painted`: the demo's round picture, any size; the result has the size of `frame`. number: of the frame.
cv::Mat3b seen_through(const ScopeLook& look, const cv::Mat3b& painted, cv::Size frame, double t, int number);

}  // namespace canalogue::demo::labelled
