#include "export/steadying.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace canalogue::film {

namespace {

constexpr int kWidth = 240;              // pixels of the pictures that are compared
constexpr double kMiddle = 0.56;         // share of them that is looked at: rims and burnt-in text stand still
constexpr double kSure = 0.08;           // response below which nothing is known of the motion
constexpr double kMostStep = 0.08;       // share of the width: more from one picture to the next is no shake
constexpr double kSmoothSeconds = 0.4;

// The middle of the picture's luma, small and as real numbers.
cv::Mat middle_of(const AVFrame& frame) {
    const cv::Mat luma(frame.height, frame.width, CV_8UC1, frame.data[0], static_cast<std::size_t>(frame.linesize[0]));
    cv::Mat small, real;
    cv::resize(luma, small, {kWidth, std::max(2, frame.height * kWidth / frame.width)}, 0, 0, cv::INTER_AREA);
    const int w = static_cast<int>(small.cols * kMiddle), h = static_cast<int>(small.rows * kMiddle);
    small({(small.cols - w) / 2, (small.rows - h) / 2, w, h}).convertTo(real, CV_64F);
    return real;
}

// Ends are mirrored, so that a path begins and ends where the hand's own way does.
std::vector<double> smoothed(const std::vector<double>& path, double sigma) {
    const auto n = static_cast<long>(path.size());
    const long reach = std::max(1L, static_cast<long>(std::lround(3 * sigma)));
    std::vector<double> out(path.size());
    for (long i = 0; i < n; ++i) {
        double sum = 0, weight = 0;
        for (long k = -reach; k <= reach; ++k) {
            long j = i + k;
            if (j < 0) j = -j;
            if (j >= n) j = 2 * (n - 1) - j;
            j = std::clamp(j, 0L, n - 1);
            const double g = std::exp(-0.5 * static_cast<double>(k * k) / (sigma * sigma));
            sum += g * path[static_cast<std::size_t>(j)], weight += g;
        }
        out[static_cast<std::size_t>(i)] = sum / weight;
    }
    return out;
}

std::vector<double> shake(const std::vector<double>& path, double sigma) {
    const auto way = smoothed(path, sigma);
    std::vector<double> out(path.size());
    for (std::size_t i = 0; i < out.size(); ++i) out[i] = std::clamp(path[i] - way[i], -kSteadyRoom / 2, kSteadyRoom / 2);
    return out;
}

}  // namespace

std::pair<double, double> SteadyPath::at(RecordingTime t) const {
    if (dx.empty()) return {0, 0};
    const double place = std::clamp(static_cast<double>(t - from) / static_cast<double>(step), 0.0, static_cast<double>(dx.size() - 1));
    const auto i = static_cast<std::size_t>(place), next = std::min(i + 1, dx.size() - 1);
    const double u = place - static_cast<double>(i);
    return {dx[i] + (dx[next] - dx[i]) * u, dy[i] + (dy[next] - dy[i]) * u};
}

Result<SteadyPath> steady_path(PictureSource& source, const RecordingSpan& span, int per_second) {
    SteadyPath out{span.start, kSecond / per_second, {}, {}};
    cv::Mat before, window;
    double x = 0, y = 0;
    for (RecordingTime t = span.start; t < span.end; t = t + out.step) {
        auto picture = source.at(t);
        if (!picture) return picture.failure();
        const cv::Mat now = middle_of(*picture->frame);
        if (!before.empty()) {
            if (window.empty()) cv::createHanningWindow(window, now.size(), CV_64F);
            double response = 0;
            const cv::Point2d moved = cv::phaseCorrelate(before, now, window, &response);
            if (response > kSure && std::abs(moved.x) < kMostStep * kWidth && std::abs(moved.y) < kMostStep * kWidth)
                x += moved.x / kWidth, y += moved.y * picture->frame->width / (static_cast<double>(kWidth) * picture->frame->height);
        }
        before = now;
        out.dx.push_back(x), out.dy.push_back(y);
    }
    out.dx = shake(out.dx, kSmoothSeconds * per_second), out.dy = shake(out.dy, kSmoothSeconds * per_second);
    return out;
}

ShareBox steadied(const ShareBox& window, std::pair<double, double> by) {
    const double w = window.w * (1 - kSteadyRoom), h = window.h * (1 - kSteadyRoom);
    const auto placed = [](double at, double size, double shift) { return std::clamp(at + shift, 0.0, 1 - size); };
    return {placed(window.x + (window.w - w) / 2, w, by.first), placed(window.y + (window.h - h) / 2, h, by.second), w, h};
}

}  // namespace canalogue::film
