#include "plugins/burnt_text/stretch.hpp"

#include <algorithm>
#include <opencv2/imgproc.hpp>

namespace canalogue::burnt_text {

namespace {

// Of the best likeness. Faint text over a moving view varies by about half of it from sample to
// sample; a sample without the text keeps only its own small share in the mean, below a third.
constexpr double kLikeEnough = .35;

// Both gradients of a part of a picture, one above the other.
cv::Mat gradients(const cv::Mat& grey, const cv::Rect& box) {
    cv::Mat x, y, both;
    cv::Sobel(grey(box), x, CV_32F, 1, 0);
    cv::Sobel(grey(box), y, CV_32F, 0, 1);
    cv::vconcat(x, y, both);
    return both;
}

// Cosine of the angle between two sets of gradients, -1..1; 0 when one of them is flat.
double likeness(const cv::Mat& a, const cv::Mat& b) {
    const double size = cv::norm(a) * cv::norm(b);
    return size > 0 ? a.dot(b) / size : 0;
}

}  // namespace

double same_strokes(const cv::Mat& a, const cv::Mat& b, const cv::Rect& box) { return likeness(gradients(a, box), gradients(b, box)); }

void Stretch::add(const cv::Mat& rgb, const cv::Mat& grey, std::int64_t t_ns) {
    if (greys_.empty()) sum_ = cv::Mat::zeros(rgb.size(), CV_32FC3);
    cv::accumulate(rgb, sum_);
    greys_.push_back(grey);
    times_.push_back(t_ns);
}

void Stretch::clear() {
    greys_.clear();
    times_.clear();
}

cv::Mat Stretch::mean() const {
    cv::Mat mean;
    sum_.convertTo(mean, CV_8UC3, 1. / static_cast<double>(size()));
    return mean;
}

std::pair<std::int64_t, std::int64_t> Stretch::presence(cv::Rect box) const {
    const std::pair<std::int64_t, std::int64_t> whole{times_.front(), times_.back()};
    box &= cv::Rect({0, 0}, sum_.size());
    if (box.empty()) return whole;
    cv::Mat grey;
    cv::cvtColor(mean(), grey, cv::COLOR_RGB2GRAY);
    const cv::Mat pattern = gradients(grey, box);
    std::vector<double> like;
    for (const auto& picture : greys_) like.push_back(likeness(gradients(picture, box), pattern));
    const double enough = kLikeEnough * *std::max_element(like.begin(), like.end());
    if (enough <= 0) return whole;
    const auto there = [&](double l) { return l >= enough; };
    const auto first = std::find_if(like.begin(), like.end(), there) - like.begin();
    const auto last = like.rend() - std::find_if(like.rbegin(), like.rend(), there) - 1;
    return {times_[static_cast<std::size_t>(first)], times_[static_cast<std::size_t>(last)]};
}

}  // namespace canalogue::burnt_text
