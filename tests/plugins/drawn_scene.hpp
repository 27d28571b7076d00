// Drawn stand-ins for a scope's picture: a reddish, blotchy view under a fixed round mask, drifting
// as a hand-held scope does, with lines of text burnt in. No real picture, person or place.
#pragma once

#include <cmath>
#include <functional>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>
#include <string>
#include <vector>

namespace canalogue::tests {

// A line of text as a capture device would draw it.
struct DrawnText {
    std::string text;
    cv::Point baseline;  // left end
    double scale = 1;    // of Hershey simplex, whose capitals are 21 pixels high at scale 1
    cv::Scalar colour = cv::Scalar::all(255);
    double alpha = 1;

    int thickness() const { return scale >= 1 ? 2 : 1; }
    cv::Rect box() const {
        int below = 0;
        const auto size = cv::getTextSize(text, cv::FONT_HERSHEY_SIMPLEX, scale, thickness(), &below);
        return {baseline.x, baseline.y - size.height, size.width, size.height};
    }
    void draw_on(cv::Mat& rgb) const {
        cv::Mat drawn = rgb.clone();
        cv::putText(drawn, text, baseline, cv::FONT_HERSHEY_SIMPLEX, scale, colour, thickness(), cv::LINE_AA);
        cv::addWeighted(drawn, alpha, rgb, 1 - alpha, 0, rgb);
    }
};

class DrawnScene {
  public:
    explicit DrawnScene(cv::Size size, unsigned seed = 7) : size_(size), mask_(cv::Mat::zeros(size, CV_8U)) {
        cv::RNG random(seed);
        const cv::Size tissue(size.width + 200, size.height + 200);
        tissue_ = cv::Mat(tissue, CV_32FC3, cv::Scalar(150, 90, 75));
        for (int cell : {160, 60, 24, 9, 4}) blotches(random, cell);
        tissue_.convertTo(tissue_, CV_8UC3);
        cv::circle(mask_, {size.width / 2, size.height / 2}, std::min(size.width, size.height) * 47 / 100,
                   255, -1);
    }

    // What the scope sees at `seconds`, without text.
    cv::Mat at(double seconds) const {
        const int x = 100 + static_cast<int>(70 * std::sin(seconds * 1.3) + 20 * std::sin(seconds * 4.1));
        const int y = 100 + static_cast<int>(70 * std::cos(seconds * 0.9) + 20 * std::sin(seconds * 3.7));
        cv::Mat picture = cv::Mat::zeros(size_, CV_8UC3);
        tissue_(cv::Rect({x, y}, size_)).copyTo(picture, mask_);
        return picture;
    }
    cv::Size size() const { return size_; }

  private:
    void blotches(cv::RNG& random, int cell) {
        cv::Mat coarse(tissue_.rows / cell + 2, tissue_.cols / cell + 2, CV_32FC3), fine;
        random.fill(coarse, cv::RNG::NORMAL, cv::Scalar::all(0), cv::Scalar(22, 18, 16));
        cv::resize(coarse, fine, tissue_.size(), 0, 0, cv::INTER_CUBIC);
        tissue_ += fine;
    }

    cv::Size size_;
    cv::Mat tissue_, mask_;
};

}  // namespace canalogue::tests
