// Text as recorders write it into their pictures, in many fonts and ways, with the exact pixels it touches.
#pragma once

#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"

namespace canalogue::demo::labelled {

enum class Way { still, clock, fading, sliding, brief, scrolling, upright };
enum class Ink { plain, outlined, shadowed, boxed, faint, dark };

struct Writing {
    std::string what;          // name, born, number, date, clock, clinic, serial, settings
    std::string text;          // for a clock: of its first second
    Way way = Way::still;
    Ink ink = Ink::plain;
    std::string font;          // a family of fontconfig
    int height = 20;           // of the font, pixels
    cv::Scalar colour;         // blue, green, red
    cv::Point place;           // top left of the letters, where it rests
    double start = 0, end = 0; // seconds in which any of it shows
    double opacity = 1;        // at its fullest
};

std::string_view name_of(Way way);
std::string_view name_of(Ink ink);

// Where a writing is at a moment: its letters' layer (255 where the letter, its outline or its shadow is full), and
// how strongly it shows. Empty when it does not show.
struct Written {
    cv::Mat1b letters, ground;  // of one size; ground: the box behind, where there is one
    cv::Mat1b body;             // the letters alone, without outline and shadow
    cv::Point at;               // of the layers' top left in the frame; may lie outside
    double opacity = 0;
};
Written written_at(const Writing& w, double t, cv::Size frame);

// Draws it, and marks with `label` every pixel whose letters show by more than a tenth. The tight box of the marks, empty when
// there are none.
UprightBox write(const Writing& w, double t, cv::Mat3b& frame, cv::Mat1b& labels, std::uint8_t label);

}  // namespace canalogue::demo::labelled
