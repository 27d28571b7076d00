// A second witness that knows nothing of letters: what was drawn into the picture keeps its edges
// while everything behind it moves. Over many pictures, gradients that always point the same way are
// gathered into boxes shaped like a line of text. It says nothing when the view itself stood still.
#pragma once

#include <opencv2/core.hpp>
#include <vector>

namespace canalogue::burnt_text {

class StaticEdges {
  public:
    void add(const cv::Mat& grey);  // 8 bits, all of one size
    void clear();

    // Boxes in pixels of the grey pictures; empty with fewer than kFewest pictures or a still view.
    std::vector<cv::Rect2f> boxes() const;

    static constexpr int kFewest = 8;

  private:
    cv::Mat dx_, dy_, energy_, gx_, gy_;
    int count_ = 0;
};

}  // namespace canalogue::burnt_text
