#include "demo_media/measure/picture_statistics.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace canalogue::demo {

namespace {

constexpr int kLines = 240;
constexpr double kRound = 0.95;

struct Colour {
    double hue = 0, saturation = 0, value = 0;  // hue in radians
};

Colour colour_of(const cv::Vec3b& p) {
    const double b = p[0] / 255.0, g = p[1] / 255.0, r = p[2] / 255.0;
    const double most = std::max({r, g, b}), least = std::min({r, g, b}), span = most - least;
    if (span <= 0) return {0, 0, most};
    double sixth = most == r ? (g - b) / span : (most == g ? 2 + (b - r) / span : 4 + (r - g) / span);
    return {sixth * CV_PI / 3, span / most, most};
}

}  // namespace

std::array<double, 7> listed(const PictureStatistics& s) {
    return {s.hue, s.hue_spread, s.saturation, s.value, s.edges, s.glare, s.dark};
}

PictureStatistics measure(const cv::Mat3b& bgr) {
    cv::Mat3b small;
    const double scale = double(kLines) / bgr.rows;
    cv::resize(bgr, small, {std::max(16, int(std::lround(bgr.cols * scale))), kLines}, 0, 0,
               scale < 1 ? cv::INTER_AREA : cv::INTER_LINEAR);
    cv::Mat grey, gx, gy;
    cv::cvtColor(small, grey, cv::COLOR_BGR2GRAY);
    cv::Sobel(grey, gx, CV_32F, 1, 0);
    cv::Sobel(grey, gy, CV_32F, 0, 1);
    PictureStatistics s;
    double n = 0, east = 0, south = 0, weight = 0;
    for (int y = 0; y < small.rows; ++y)
        for (int x = 0; x < small.cols; ++x) {
            if (std::hypot(x + 0.5 - small.cols / 2.0, y + 0.5 - kLines / 2.0) > kRound * kLines / 2)
                continue;
            const cv::Vec3b& p = small(y, x);
            const Colour c = colour_of(p);
            n += 1, s.saturation += c.saturation, s.value += c.value;
            s.glare += std::min({p[0], p[1], p[2]}) >= 240;
            s.dark += c.value < 0.25;
            s.edges += std::hypot(gx.at<float>(y, x), gy.at<float>(y, x)) > 100;
            if (c.saturation < 0.15 || c.value < 0.15) continue;
            const double w = c.saturation * c.value;
            east += w * std::cos(c.hue), south += w * std::sin(c.hue), weight += w;
        }
    s.saturation /= n, s.value /= n, s.glare /= n, s.dark /= n, s.edges /= n;
    s.hue = std::atan2(south, east) * 180 / CV_PI;
    s.hue_spread = weight > 0 ? 1 - std::hypot(east, south) / weight : 1;
    return s;
}

std::array<Range, 7> usual_ranges(const std::vector<PictureStatistics>& pictures) {
    std::array<Range, 7> out;
    if (pictures.empty()) return out;
    for (std::size_t i = 0; i < out.size(); ++i) {
        std::vector<double> v;
        for (const auto& p : pictures) v.push_back(listed(p)[i]);
        std::sort(v.begin(), v.end());
        const auto at = [&](double part) {
            const double rank = part * double(v.size() - 1);
            const auto k = static_cast<std::size_t>(rank);
            return k + 1 < v.size() ? v[k] + (rank - double(k)) * (v[k + 1] - v[k]) : v.back();
        };
        out[i] = {at(0.05), at(0.95)};
    }
    return out;
}

}  // namespace canalogue::demo
