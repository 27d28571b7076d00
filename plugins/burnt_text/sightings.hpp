// Turns what was seen at single moments into lines over time. Knows nothing of nets or pictures but
// the crop that goes with a sight.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <vector>

namespace canalogue::burnt_text {

// Text seen at one place from start to end (the same for a single picture). Box: upright pixels.
struct Sight {
    std::int64_t start_ns = 0, end_ns = 0;
    cv::Rect2f box;
    float sureness = 0;
    cv::Mat crop;   // to be read later; may be empty
    cv::Mat whole;  // the picture of the crop, grey
    bool inside = true;  // the view was surely of an ear's inside
};

// One line of text over time, sights in order of their start.
struct Line {
    std::vector<Sight> sights;
    cv::Rect2f hull;
    std::int64_t start_ns = 0, end_ns = 0;
    bool rests = false;  // known to: put together of parts, or seen in a mean

    // Stays where it is, but for a trembling edge or a changing digit.
    bool still() const;
    // Whether a sight shows most of the line, and not a piece of it.
    bool whole(const Sight& sight) const;
    const Sight& surest() const;  // of those that can be read and show most of it, if any does
};

// The part of a line at rest from its sight at `first_ns` to the one at `last_ns`, with the whole line's
// hull. It begins where the part before ended and ends where the next begins (`before_ns`, `after_ns`;
// equal to first and last where there is none): between two sights either may have stood there.
Line part_of(const Line& line, std::int64_t before_ns, std::int64_t first_ns, std::int64_t last_ns, std::int64_t after_ns);

// Whether two boxes are parts of one line: they overlap, or stand side by side with a gap no wider
// than a letter is high.
bool one_line(const cv::Rect2f& a, const cv::Rect2f& b);

// Joins the parts of lines within one picture.
std::vector<Sight> joined(std::vector<Sight> sights);

// Follows sights through time. Text that is away for longer than `patience_ns` is a new line when it
// comes again.
std::vector<Line> followed(std::vector<Sight> sights, std::int64_t patience_ns);

// A line that was only ever seen outside of the ear stands on a thing there, and is gone when the view is surely inside
// again: its parts, between those times (in order). A line that was seen inside once is left whole.
std::vector<Line> without_inside(Line line, const std::vector<std::int64_t>& surely_inside);

}  // namespace canalogue::burnt_text
