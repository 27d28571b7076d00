#include "plugins/burnt_text/text_finder.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

namespace canalogue::burnt_text {

namespace {

constexpr int kGrid = 32;                 // the net's sides are multiples of this
constexpr double kPixels = 1280. * 720.;  // finds 12-pixel text at 720 lines; more costs more than it finds
constexpr double kQuickPixels = 864. * 486.;
constexpr double kMostEnlarged = 2;
constexpr int kStrip = 64;  // height of the sample line's band
constexpr const char* kSample = "SAMPLE TEXT 0123456789";

// The model's own scale of colours, and the cuts its makers use on its map.
const cv::Scalar kMean(.485, .456, .406), kDeviation(.229, .224, .225);
constexpr float kInk = .3f, kSure = .5f;
constexpr float kUnclip = 1.6f;  // the net marks the core of a line; by this it grows to the whole
constexpr float kSmallest = 3;   // pixels

int on_grid(double side) { return std::max(kGrid, static_cast<int>(std::lround(side / kGrid)) * kGrid); }

int grid_above(int side) { return (side + kGrid - 1) / kGrid * kGrid; }

// The box around one blob of the map, whole line; score 0 when it is too unsure or too small.
FoundText text_of(const std::vector<cv::Point>& outline, const cv::Mat& map) {
    const cv::Rect core = cv::boundingRect(outline);
    cv::Mat inside = cv::Mat::zeros(core.size(), CV_8U);
    cv::fillPoly(inside, std::vector{outline}, cv::Scalar(1), cv::LINE_8, 0, -core.tl());
    const auto score = static_cast<float>(cv::mean(map(core), inside)[0]);
    const auto w = static_cast<float>(core.width), h = static_cast<float>(core.height);
    const float grow = kUnclip * w * h / (2 * (w + h));
    const cv::Rect2f box(static_cast<float>(core.x) - grow, static_cast<float>(core.y) - grow, w + 2 * grow,
                         h + 2 * grow);
    const bool good = score >= kSure && std::min(w, h) >= kSmallest;
    return {box, good ? score : 0};
}

cv::Size sample_size() {
    int baseline = 0;
    return cv::getTextSize(kSample, cv::FONT_HERSHEY_SIMPLEX, 1, 2, &baseline);
}

// About `pixels` many, sides in proportion; the sample line must fit as well.
cv::Size scaled_to(double pixels, cv::Size picture) {
    const double scale = std::min(kMostEnlarged, std::sqrt(pixels / std::max(1., static_cast<double>(picture.area()))));
    const int w = std::max(on_grid(picture.width * scale), grid_above(sample_size().width + kStrip));
    const int h = std::max(kGrid, static_cast<int>(std::lround(w * static_cast<double>(picture.height) / std::max(1, picture.width))));
    return {w, h};
}

}  // namespace

cv::Size TextFinder::working_size(cv::Size picture) { return scaled_to(kPixels, picture); }

const cv::Mat& TextFinder::sheet_with(const cv::Mat& picture) {
    const cv::Size whole(picture.cols, grid_above(picture.rows + kStrip));
    if (sheet_.size() != whole) {
        sheet_ = cv::Mat::zeros(whole, CV_8UC3);
        const int baseline = picture.rows + (kStrip + sample_size().height) / 2;
        cv::putText(sheet_, kSample, {kStrip / 2, baseline}, cv::FONT_HERSHEY_SIMPLEX, 1,
                    cv::Scalar::all(255), 2, cv::LINE_AA);
    }
    picture.copyTo(sheet_(cv::Rect({0, 0}, picture.size())));
    return sheet_;
}

cv::Mat TextFinder::map_of(const cv::Mat& sheet) {
    cv::Mat scaled;
    sheet.convertTo(scaled, CV_32FC3, 1 / 255.);
    scaled = (scaled - kMean) / kDeviation;
    nets::Tensor input;
    input.shape = {1, 3, sheet.rows, sheet.cols};
    input.values.resize(sheet.total() * 3);
    std::vector<cv::Mat> planes;
    for (int c = 0; c < 3; ++c)
        planes.emplace_back(sheet.size(), CV_32F,
                            input.values.data() + sheet.total() * static_cast<std::size_t>(c));
    cv::split(scaled, planes);
    auto output = net_.run(input);
    if (output.values.size() != sheet.total())
        throw std::runtime_error("The text model is not the expected one; fetch it again.");
    return cv::Mat(sheet.size(), CV_32F, output.values.data()).clone();
}

std::vector<FoundText> TextFinder::find(const cv::Mat& picture) {
    const cv::Mat map = map_of(sheet_with(picture));
    std::vector<std::vector<cv::Point>> outlines;
    cv::findContours(cv::Mat(map > kInk), outlines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_SIMPLE);
    const auto edge = static_cast<float>(picture.rows);
    const cv::Rect2f whole(0, 0, static_cast<float>(picture.cols), edge);
    float sample_found = 0;
    std::vector<FoundText> found;
    for (const auto& outline : outlines) {
        auto text = text_of(outline, map);
        if (text.score <= 0) continue;
        // A line at the lower edge may be joined with the sample: it counts for both.
        if (text.box.y + text.box.height / 2 >= edge || text.box.br().y > edge + kStrip / 2.f)
            sample_found += text.box.width;
        if (text.box.y + text.box.height / 2 >= edge) continue;
        text.box &= whole;
        found.push_back(text);
    }
    if (sample_found < static_cast<float>(sample_size().width) / 2)
        throw std::runtime_error("It did not find the sample line that it must always find.");
    return found;
}

std::vector<FoundText> TextFinder::find_quickly(const cv::Mat& picture) {
    const cv::Size size = scaled_to(kQuickPixels, picture.size());
    if (size.area() >= picture.size().area()) return find(picture);
    cv::Mat small;
    cv::resize(picture, small, size, 0, 0, cv::INTER_AREA);
    auto found = find(small);
    const auto x = static_cast<float>(picture.cols) / static_cast<float>(size.width), y = static_cast<float>(picture.rows) / static_cast<float>(size.height);
    for (auto& text : found) text.box = {text.box.x * x, text.box.y * y, text.box.width * x, text.box.height * y};
    return found;
}

}  // namespace canalogue::burnt_text
