// Text the scope's recorder writes into every picture.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"
#include "demo_media/script.hpp"

namespace canalogue::demo {

struct TextItem {
    std::string what;  // name, dob, number, clock, clinic, settings
    std::string text;  // empty for the clock, which follows the time
    cv::Point origin;  // left end of the base line, pixels
    double size = 1;   // of the font
    int stroke = 1;    // pixels
    UprightBox box;    // holds every pixel of the item, outline included, at all times
};

class BurntIn {
public:
    // starts_at: seconds since 1970 at the recording's first frame, shown as the clinic's local time.
    BurntIn(cv::Size frame, Ear ear, std::int64_t starts_at);
    void write(cv::Mat3b& frame, double t) const;
    const std::vector<TextItem>& items() const { return items_; }

private:
    std::vector<TextItem> items_;
    std::int64_t starts_at_;
    cv::Size frame_;
};

// "2031-03-04 09:41:07"
std::string written_time(std::int64_t seconds_since_1970);

}  // namespace canalogue::demo
