#include "plugins/view_gauges/clarity.hpp"

#include <limits>
#include <opencv2/imgproc.hpp>

namespace canalogue::view_gauges {

namespace {

constexpr int kDark = 32;    // of 255: below it is rim, not view
constexpr int kCell = 16;    // pixels
constexpr double kFine = .006;  // mean fine detail over mean brightness of a cell that is clear; measured
                                // on drawn sessions: smeared parts stay below, textured ones are 3 to 10 times it

// The largest lit area, without its border: the view itself, not the words beside it.
cv::Mat view_of(const cv::Mat& grey) {
    cv::Mat lit = grey >= kDark, labels, facts, centres, view;
    cv::morphologyEx(lit, lit, cv::MORPH_OPEN, cv::Mat::ones(9, 9, CV_8U));
    const int count = cv::connectedComponentsWithStats(lit, labels, facts, centres);
    int largest = 0;
    for (int i = 1; i < count; ++i)
        if (largest == 0 || facts.at<int>(i, cv::CC_STAT_AREA) > facts.at<int>(largest, cv::CC_STAT_AREA)) largest = i;
    if (largest == 0) return cv::Mat::zeros(grey.size(), CV_8U);
    cv::erode(labels == largest, view, cv::Mat::ones(13, 13, CV_8U));
    return view;
}

// What lies between one pixel and three in size.
cv::Mat fine_detail(const cv::Mat& grey) {
    cv::Mat fine, coarse, wide;
    grey.convertTo(wide, CV_32F);
    cv::GaussianBlur(wide, fine, {}, .8);
    cv::GaussianBlur(wide, coarse, {}, 2.4);
    return cv::abs(fine - coarse);
}

}  // namespace

double clarity(const cv::Mat& rgb) {
    cv::Mat grey;
    cv::cvtColor(rgb, grey, cv::COLOR_RGB2GRAY);
    const cv::Mat view = view_of(grey), detail = fine_detail(grey);
    int cells = 0, clear = 0;
    for (int y = 0; y + kCell <= grey.rows; y += kCell)
        for (int x = 0; x + kCell <= grey.cols; x += kCell) {
            const cv::Rect cell(x, y, kCell, kCell);
            if (cv::countNonZero(view(cell)) * 4 < kCell * kCell * 3) continue;
            ++cells;
            clear += cv::mean(detail(cell))[0] >= kFine * (cv::mean(grey(cell))[0] + 1);
        }
    return cells ? static_cast<double>(clear) / cells : std::numeric_limits<double>::quiet_NaN();
}

}  // namespace canalogue::view_gauges
