// When, within a stretch, text seen in the mean of the stretch was really there.
#pragma once

#include <opencv2/core.hpp>
#include <utility>
#include <vector>

namespace canalogue::burnt_text {

// pictures: the stretch's samples, grey, 8 bits; mean: their mean; box: where its text stands.
// Returns the first and the last sample that has the text's edges, everything between taken as
// having them too. Unsure cases keep the whole stretch: too long a cover hurts nobody.
std::pair<std::size_t, std::size_t> presence(const std::vector<cv::Mat>& pictures, const cv::Mat& mean,
                                             cv::Rect box);

}  // namespace canalogue::burnt_text
