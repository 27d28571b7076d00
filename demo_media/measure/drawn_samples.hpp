// Frames of the drawn session to measure and to look at, spread over its inside spans.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

namespace canalogue::demo {

struct DrawnSample {
    std::string name;   // e.g. "right 06.20"
    cv::Mat3b picture;  // without burnt-in text
};
// each: how many per recording. Leaves out the half second beside the room and the smear.
std::vector<DrawnSample> drawn_samples(cv::Size frame, std::uint64_t seed, int each);

}  // namespace canalogue::demo
