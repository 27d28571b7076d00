// Noise pictures from which skin, wax and drum are painted. All values lie around 0.5, roughly in
// 0..1; all are CV_32FC1. `wrap` joins the left and right edges, for surfaces that go round.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>

namespace canalogue::demo {

struct Grain {
    float cells_x = 4, cells_y = 4;  // how many bumps of the coarsest octave fit across
    int octaves = 4;
    float gain = 0.5f;  // weight of each finer octave relative to the one before
    bool wrap = false;
};

cv::Mat1f cloud(cv::Size size, const Grain& grain, std::uint64_t seed);
// Sharp crests where a cloud crosses its middle: creases, fibres, cracks. 1 on the crest.
cv::Mat1f crests(cv::Size size, const Grain& grain, std::uint64_t seed);
// Moves every pixel by up to `reach` pixels, following a cloud.
cv::Mat1f stirred(const cv::Mat1f& field, float reach, const Grain& grain, std::uint64_t seed);

}  // namespace canalogue::demo
