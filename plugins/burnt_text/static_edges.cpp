#include "plugins/burnt_text/static_edges.hpp"

#include <opencv2/imgproc.hpp>

namespace canalogue::burnt_text {

namespace {

constexpr double kStrong = 14;     // of the mean gradient, in the units of a 3 by 3 Sobel over 8
constexpr double kCoherent = .6;   // square of the mean over mean of the squares; 1: always the same
constexpr double kStillView = .5;  // of the strong edges coherent: then the camera stood still
constexpr double kTallest = .09;   // of the picture's height; the scope's round rim is taller
constexpr int kLowest = 8;         // pixels
constexpr double kLongest = .6;    // of the picture's width; a rim or a frame is longer
constexpr double kFlattest = 25;   // widths per height; flatter is a line, not text
constexpr double kFilled = .25;    // of its box that a line of text fills with edges

bool text_shaped(const cv::Rect& box, int filled, cv::Size picture) {
    const double w = box.width, h = box.height;
    return h >= kLowest && h <= kTallest * picture.height && w >= 1.5 * h && w <= kLongest * picture.width &&
           w <= kFlattest * h && filled >= kFilled * w * h;
}

}  // namespace

void StaticEdges::clear() { count_ = 0; }

void StaticEdges::add(const cv::Mat& grey) {
    cv::Sobel(grey, gx_, CV_32F, 1, 0, 3, 1 / 8.);
    cv::Sobel(grey, gy_, CV_32F, 0, 1, 3, 1 / 8.);
    if (count_ == 0 || dx_.size() != grey.size()) {
        dx_ = cv::Mat::zeros(grey.size(), CV_32F);
        dy_ = dx_.clone();
        energy_ = dx_.clone();
        count_ = 0;
    }
    dx_ += gx_;
    dy_ += gy_;
    cv::accumulateSquare(gx_, energy_);
    cv::accumulateSquare(gy_, energy_);
    ++count_;
}

std::vector<cv::Rect2f> StaticEdges::boxes() const {
    if (count_ < kFewest) return {};
    const double n = count_;
    cv::Mat mean_square = (dx_.mul(dx_) + dy_.mul(dy_)) / (n * n);
    const cv::Mat strong_once = energy_ / n > kStrong * kStrong;
    const cv::Mat coherent = (mean_square > kStrong * kStrong) & (mean_square > energy_ * (kCoherent / n));
    if (cv::countNonZero(coherent) > kStillView * std::max(1, cv::countNonZero(strong_once))) return {};
    cv::Mat closed, labels, stats, centres;
    cv::morphologyEx(coherent, closed, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_RECT, {15, 3}));
    const int parts = cv::connectedComponentsWithStats(closed, labels, stats, centres);
    std::vector<cv::Rect2f> found;
    for (int i = 1; i < parts; ++i) {
        const auto* s = stats.ptr<int>(i);
        const cv::Rect box(s[cv::CC_STAT_LEFT], s[cv::CC_STAT_TOP], s[cv::CC_STAT_WIDTH],
                           s[cv::CC_STAT_HEIGHT]);
        if (text_shaped(box, s[cv::CC_STAT_AREA], closed.size())) found.emplace_back(box);
    }
    return found;
}

}  // namespace canalogue::burnt_text
