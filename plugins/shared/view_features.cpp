#include "plugins/shared/view_features.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace canalogue::view {

namespace {

constexpr int kLongerSide = 240;
constexpr int kDark = 32;      // of 255: below it is rim, not view
constexpr double kFew = 1e-6;  // keeps logarithms and quotients finite

double share(const cv::Mat& mask, double of) { return cv::countNonZero(mask) / std::max(1., of); }

// Colours of the bright field: mean and spread of saturation, shares of hues, spread of hue.
void colours(const SmallView& v, Features& f) {
    double sum = 0, squares = 0, x = 0, y = 0, weight = 0, warm = 0, cold = 0, grey = 0, glare = 0, n = 0;
    cv::Vec3d mean(0, 0, 0);
    cv::Mat hsv;
    cv::cvtColor(v.rgb, hsv, cv::COLOR_RGB2HSV);
    for (int row = 0; row < hsv.rows; ++row)
        for (int col = 0; col < hsv.cols; ++col) {
            if (!v.bright.at<std::uint8_t>(row, col)) continue;
            const auto p = hsv.at<cv::Vec3b>(row, col);
            const double s = p[1] / 255., angle = p[0] * CV_PI / 90, w = s * p[2] / 255.;
            ++n;
            sum += s;
            squares += s * s;
            x += w * std::cos(angle);
            y += w * std::sin(angle);
            weight += w;
            const bool coloured = s > .2;
            warm += coloured && (p[0] < 25 || p[0] > 165);
            cold += coloured && p[0] > 40 && p[0] < 150;
            grey += !coloured;
            glare += p[2] > 240 && s < .25;
            mean += cv::Vec3d(v.rgb.at<cv::Vec3b>(row, col));
        }
    n = std::max(1., n);
    f[3] = sum / n;
    f[4] = std::sqrt(std::max(0., squares / n - f[3] * f[3]));
    f[7] = std::log((mean[0] / n + 1) / (mean[2] / n + 1));
    f[8] = std::log((mean[1] / n + 1) / (mean[2] / n + 1));
    f[9] = 1 - std::hypot(x, y) / std::max(kFew, weight);
    f[10] = warm / n;
    f[11] = cold / n;
    f[12] = grey / n;
    f[13] = glare / n;
}

// Brightness from the middle outwards, against the mean of the whole: a scope's lamp and rim.
void rings(const SmallView& v, Features& f) {
    std::array<double, 5> sum{}, count{};
    const double reach = std::min(v.grey.cols, v.grey.rows) / 2.;
    for (int row = 0; row < v.grey.rows; ++row)
        for (int col = 0; col < v.grey.cols; ++col) {
            const double r = std::hypot(col + .5 - v.grey.cols / 2., row + .5 - v.grey.rows / 2.) / reach;
            const auto ring = std::min<std::size_t>(4, static_cast<std::size_t>(r * 4));
            sum[ring] += v.grey.at<std::uint8_t>(row, col);
            ++count[ring];
        }
    const double whole = cv::mean(v.grey)[0] + 1;
    for (std::size_t i = 0; i < 5; ++i) f[14 + i] = std::min(3., sum[i] / std::max(1., count[i]) / whole);
}

// Edges stronger than a share of the brightness; how many of them run along rows or columns.
void edges(const SmallView& v, Features& f) {
    cv::Mat dx, dy, soft;
    cv::GaussianBlur(v.grey, soft, {}, 1);
    cv::Sobel(soft, dx, CV_32F, 1, 0, 3, 1. / 8);
    cv::Sobel(soft, dy, CV_32F, 0, 1, 3, 1. / 8);
    const double strong = .06 * (v.bright_mean + 1), fine = .02 * (v.bright_mean + 1);
    double all = 0, axes = 0, weak = 0, n = 0;
    for (int row = 0; row < dx.rows; ++row)
        for (int col = 0; col < dx.cols; ++col) {
            if (!v.bright.at<std::uint8_t>(row, col)) continue;
            ++n;
            const double a = std::abs(dx.at<float>(row, col)), b = std::abs(dy.at<float>(row, col));
            const double size = std::hypot(a, b);
            weak += size > fine;
            if (size <= strong) continue;
            ++all;
            axes += std::min(a, b) < .15 * std::max(a, b);
        }
    f[5] = all / std::max(1., n);
    f[6] = axes / std::max(20., all);
    f[21] = weak / std::max(1., n);
}

// The bright field without its border, where the rim would count as an edge.
cv::Mat without_border(const cv::Mat& bright) {
    cv::Mat out;
    cv::erode(bright, out, cv::getStructuringElement(cv::MORPH_ELLIPSE, {11, 11}), {-1, -1}, 1, cv::BORDER_REPLICATE);
    return out;
}

}  // namespace

SmallView small_view(const cv::Mat& rgb) {
    SmallView v;
    const double scale = static_cast<double>(kLongerSide) / std::max(rgb.cols, rgb.rows);
    const cv::Size size(std::max(1, static_cast<int>(std::lround(rgb.cols * scale))),
                        std::max(1, static_cast<int>(std::lround(rgb.rows * scale))));
    cv::resize(rgb, v.rgb, size, 0, 0, cv::INTER_AREA);
    cv::cvtColor(v.rgb, v.grey, cv::COLOR_RGB2GRAY);
    v.bright = v.grey >= kDark;
    v.bright_share = share(v.bright, static_cast<double>(v.grey.total()));
    v.bright_mean = v.bright_share > 0 ? cv::mean(v.grey, v.bright)[0] : 0;
    return v;
}

double focus(const SmallView& v) {
    cv::Mat edges, square;
    cv::Laplacian(v.grey, edges, CV_32F, 1);
    cv::multiply(edges, edges, square);
    const double mean = v.bright_mean + 1;
    return std::log10(cv::mean(square, without_border(v.bright))[0] / (mean * mean) + 1e-5);
}

double local_contrast(const SmallView& v) {
    cv::Mat soft, difference;
    cv::GaussianBlur(v.grey, soft, {}, kLongerSide / 40.);
    cv::absdiff(v.grey, soft, difference);
    return cv::mean(difference, without_border(v.bright))[0] / (v.bright_mean + 1);
}

Features features(const SmallView& v) {
    Features f{};
    cv::Scalar mean, spread;
    cv::meanStdDev(v.grey, mean, spread);
    f[0] = 1 - v.bright_share;
    f[1] = mean[0] / 255;
    f[2] = spread[0] / 255;
    colours(v, f);
    rings(v, f);
    edges(v, f);
    f[19] = focus(v);
    f[20] = local_contrast(v);
    return f;
}

double motion(const SmallView& before, const SmallView& after) {
    cv::Mat a, b, difference, window;
    before.grey.convertTo(a, CV_32F);
    after.grey.convertTo(b, CV_32F);
    cv::createHanningWindow(window, a.size(), CV_32F);
    const auto shift = cv::phaseCorrelate(a, b, window);
    cv::absdiff(before.grey, after.grey, difference);
    const double rest = cv::mean(difference)[0] / (before.bright_mean + after.bright_mean + 2) * 2;
    return std::min(1., std::hypot(shift.x, shift.y) / kLongerSide) + rest;
}

}  // namespace canalogue::view
