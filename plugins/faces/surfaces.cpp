#include "plugins/faces/surfaces.hpp"

#include <algorithm>
#include <opencv2/imgproc.hpp>

namespace canalogue::faces {

namespace {

// Chosen beforehand and tried on one picture each of six labelled sessions; none was changed after that.
constexpr int kWide = 240;                            // of the picture that is looked at
constexpr double kPlace = 5, kColour = 12;            // within which pixels are one region
constexpr double kSmallest = .012, kLargest = .6;     // of the picture
constexpr double kStraight = .78;                     // of its turned frame that a region fills
constexpr double kFewestMarks = .015, kMostMarks = .6;  // of a region, that is of another lightness
constexpr int kMarks = 3;                             // separate ones, at least
constexpr int kSidesOfPicture = 2;                    // that it may be cut off by
constexpr int kNow = 128;                             // in the mask: the region in hand
constexpr int kDarkest = 45;                          // of 255: the scope's own rim is no surface

int sides_touched(const cv::Rect& r, cv::Size size) { return (r.x <= 1) + (r.y <= 1) + (r.br().x >= size.width - 1) + (r.br().y >= size.height - 1); }

// Marks inside the filled outline that are not of the region itself.
bool written_on(const cv::Mat1b& region, const std::vector<cv::Point>& outline, cv::Rect at) {
    cv::Mat1b filled(at.size(), std::uint8_t{0});
    cv::drawContours(filled, std::vector<std::vector<cv::Point>>{outline}, 0, 255, cv::FILLED, 8, {}, INT_MAX, -at.tl());
    cv::Mat1b marks, core;
    cv::bitwise_not(region(at), marks);
    cv::erode(filled, core, cv::Mat1b::ones(3, 3));
    cv::bitwise_and(marks, core, marks);  // within the outline, and not its ragged edge
    const double share = static_cast<double>(cv::countNonZero(marks)) / std::max(1, cv::countNonZero(filled));
    cv::Mat labels;
    return share >= kFewestMarks && share <= kMostMarks && cv::connectedComponents(marks, labels, 8) - 1 >= kMarks;
}

}  // namespace

std::vector<cv::Rect> written_surfaces(const cv::Mat& rgb) {
    const double scale = static_cast<double>(kWide) / std::max(rgb.cols, rgb.rows);
    cv::Mat small, even;
    cv::resize(rgb, small, {}, scale, scale, cv::INTER_AREA);
    cv::pyrMeanShiftFiltering(small, even, kPlace, kColour, 1);
    cv::Mat1b seen(small.rows + 2, small.cols + 2, std::uint8_t{0});
    std::vector<cv::Rect> out;
    const double whole = static_cast<double>(small.total());
    for (int y = 0; y < small.rows; ++y)
        for (int x = 0; x < small.cols; ++x) {
            if (seen(y + 1, x + 1)) continue;
            cv::Rect box;
            cv::floodFill(even, seen, {x, y}, {}, &box, cv::Scalar::all(3), cv::Scalar::all(3), 8 | cv::FLOODFILL_MASK_ONLY | (kNow << 8));
            cv::Mat1b here = seen(box + cv::Point(1, 1));
            cv::Mat1b region(small.size(), std::uint8_t{0});
            cv::Mat(here == kNow).copyTo(region(box));
            here.setTo(255, here == kNow);
            if (box.area() < kSmallest * whole || sides_touched(box, small.size()) > kSidesOfPicture) continue;
            if (cv::mean(small, region).dot(cv::Scalar(1, 1, 1, 0)) / 3 < kDarkest) continue;
            std::vector<std::vector<cv::Point>> outlines;
            cv::findContours(region, outlines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
            const auto& outline = *std::max_element(outlines.begin(), outlines.end(), [](const auto& a, const auto& b) { return a.size() < b.size(); });
            const double area = cv::contourArea(outline);
            const cv::RotatedRect frame = cv::minAreaRect(outline);
            if (area < kSmallest * whole || area > kLargest * whole || area < kStraight * frame.size.area()) continue;
            const cv::Rect at = cv::boundingRect(outline);
            if (!written_on(region, outline, at)) continue;
            out.push_back(cv::Rect(static_cast<int>(at.x / scale), static_cast<int>(at.y / scale), static_cast<int>(at.width / scale) + 2, static_cast<int>(at.height / scale) + 2) & cv::Rect(0, 0, rgb.cols, rgb.rows));
        }
    return out;
}

}  // namespace canalogue::faces
