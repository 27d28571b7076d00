#include "demo_media/burnt_in.hpp"

#include <cmath>
#include <cstdio>
#include <ctime>
#include <opencv2/imgproc.hpp>

#include "demo_media/invented.hpp"

namespace canalogue::demo {

namespace {

constexpr int kFont = cv::FONT_HERSHEY_SIMPLEX;
// A Hershey letter of size 1 is 21 units tall; with its tail the line is about 30.
constexpr double kLineUnits = 30;

void put(cv::Mat3b& frame, const TextItem& item, const std::string& text) {
    cv::putText(frame, text, item.origin, kFont, item.size, {18, 14, 16}, item.stroke + 2, cv::LINE_AA);
    cv::putText(frame, text, item.origin, kFont, item.size, {244, 246, 246}, item.stroke, cv::LINE_AA);
}

}  // namespace

std::string written_time(std::int64_t seconds) {
    const std::time_t when = seconds;
    std::tm parts{};
    gmtime_r(&when, &parts);
    char text[32];
    std::strftime(text, sizeof text, "%Y-%m-%d %H:%M:%S", &parts);
    return text;
}

BurntIn::BurntIn(cv::Size frame, Ear ear, std::int64_t starts_at) : starts_at_(starts_at), frame_(frame) {
    const double unit = frame.height / 720.0;
    // x, y: where the item begins (from the right edge when negative) and its base line, at 720 lines;
    // lines: its height there.
    const auto add = [&](const char* what, std::string text, double x, double y, double lines) {
        TextItem item;
        item.what = what, item.text = std::move(text);
        item.size = lines * unit / kLineUnits;
        item.stroke = std::max(1, int(std::lround(lines * unit / 14)));
        int below = 0;
        const cv::Size need = cv::getTextSize(item.text.empty() ? written_time(starts_at) : item.text, kFont,
                                              item.size, item.stroke, &below);
        const int left = x >= 0 ? int(x * unit) : frame.width - need.width + int(x * unit);
        item.origin = {left, int(y * unit)};
        const int edge = item.stroke + 2;  // outline and soft border
        item.box = common(UprightBox{left - edge, item.origin.y - need.height - edge, need.width + 2 * edge,
                                     need.height + below + 2 * edge},
                          UprightBox{0, 0, frame.width, frame.height});
        items_.push_back(std::move(item));
    };
    add("name", std::string(invented::kName), 22, 44, 28);
    add("dob", std::string(invented::kBorn), 22, 74, 20);
    add("number", std::string(invented::kHospitalNumber), 22, 100, 18);
    add("number", std::string(invented::kNhsNumber), 22, 124, 18);
    add("clock", "", -20, 42, 24);
    add("clinic", std::string(invented::kClinic), 22, 698, 18);
    add("settings", std::string(invented::kSettings) + (ear == Ear::right ? "  R" : "  L"), -20, 700, 14);
}

void BurntIn::write(cv::Mat3b& frame, double t) const {
    for (const TextItem& item : items_)
        put(frame, item,
            item.text.empty() ? written_time(starts_at_ + std::int64_t(std::floor(t + 1e-6))) : item.text);
}

}  // namespace canalogue::demo
