#include "plugins/burnt_text/presence.hpp"

#include <algorithm>
#include <cmath>
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

std::pair<std::size_t, std::size_t> presence(const std::vector<cv::Mat>& pictures, const cv::Mat& mean,
                                             cv::Rect box) {
    box &= cv::Rect({0, 0}, mean.size());
    const std::pair<std::size_t, std::size_t> whole{0, pictures.empty() ? 0 : pictures.size() - 1};
    if (box.empty() || pictures.empty()) return whole;
    const cv::Mat pattern = gradients(mean, box);
    std::vector<double> like;
    for (const auto& picture : pictures) like.push_back(likeness(gradients(picture, box), pattern));
    const double enough = kLikeEnough * *std::max_element(like.begin(), like.end());
    const auto is_there = [&](double l) { return l >= enough; };
    const auto first = std::find_if(like.begin(), like.end(), is_there);
    const auto last = std::find_if(like.rbegin(), like.rend(), is_there);
    if (enough <= 0 || first == like.end()) return whole;
    return {static_cast<std::size_t>(first - like.begin()), static_cast<std::size_t>(like.rend() - last) - 1};
}

}  // namespace canalogue::burnt_text
