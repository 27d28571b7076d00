// Flat things that may have something written or shown on them: paper, labels, posters, screens. Whether it can be
// read does not matter.
#pragma once

#include <opencv2/core.hpp>
#include <vector>

namespace canalogue::faces {

// rgb: 8 bits, any size. Boxes in its pixels: of regions of one colour, straight enough at the edge, with marks of
// another lightness in them. A bare wall or a sleeve is none; what is crumpled or seen very aslant is missed.
std::vector<cv::Rect> written_surfaces(const cv::Mat& rgb);

}  // namespace canalogue::faces
