// How much of the view is clear.
#pragma once

#include <opencv2/core.hpp>

namespace canalogue::view_gauges {

// rgb: 8-bit RGB, about 480 pixels along its longer side. The share of the lit view (cells of 16 pixels)
// that holds fine detail, 0..1; NaN when nothing is lit. What is written beside the view does not
// count. A smear takes the detail from the part of the glass it lies on; so does being out of focus.
double clarity(const cv::Mat& rgb);

}  // namespace canalogue::view_gauges
