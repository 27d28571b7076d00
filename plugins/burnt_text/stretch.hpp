// Some seconds of samples between two changes of scene. In their mean the moving view blurs away and
// what was drawn into the picture stands out, faint text included.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <utility>
#include <vector>

namespace canalogue::burnt_text {

// How alike the edges are that two grey pictures of one size show inside `box`: cosine of the angle between
// their gradients, -1..1; 0 when one of them is flat. The strokes of letters outweigh a view behind them.
double same_strokes(const cv::Mat& a, const cv::Mat& b, const cv::Rect& box);

class Stretch {
  public:
    // All of one size, 8 bits, in order of time. grey: the same picture; kept, not copied.
    void add(const cv::Mat& rgb, const cv::Mat& grey, std::int64_t t_ns);
    void clear();
    std::size_t size() const { return greys_.size(); }

    // Only when there are samples.
    cv::Mat mean() const;
    // When the text that stands in `box` of the mean was there: its first and last sample, everything
    // between taken as having it too. Unsure cases keep the whole stretch (the scope's rim inside the
    // box is such a case): too long a cover hurts nobody.
    std::pair<std::int64_t, std::int64_t> presence(cv::Rect box) const;

  private:
    cv::Mat sum_;
    std::vector<cv::Mat> greys_;
    std::vector<std::int64_t> times_;
};

}  // namespace canalogue::burnt_text
