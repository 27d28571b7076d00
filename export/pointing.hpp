// What points into a passage's picture: arrows, rings, outlines and words on leaders, and the clock face that says where in
// the canal. Drawn on the film's frame, after covering and all changes of the picture.
#pragma once

#include <optional>
#include <vector>

#include "app/core/plan.hpp"
#include "export/canvas.hpp"

namespace canalogue::film {

// Where a passage's picture lies in the frame, and which part of the recording's upright picture it is.
struct PictureArea {
    int x = 0, y = 0, w = 0, h = 0;  // pixels of the frame
    ShareBox window;
};

// What a frame shows of a passage: the recording's instant, and how fast that goes by (pace; 0 while held).
struct PassageInstant {
    RecordingTime t;
    double pace = 1;
};

// The box of a pointer's words, in pixels of the frame.
struct WordsPlace {
    double x = 0, y = 0, w = 0, h = 0;
};

// Where the words of each pointer that is seen now are put, in the plan's order; none where it has none. They stay inside the
// picture and clear of one another, of the other pointers' shapes and of the dial, as long as there is room.
std::vector<std::optional<WordsPlace>> places_of_words(const Passage& passage, PassageInstant now, const PictureArea& area, double scale);

// scale: the film's height by 720.
void draw_pointers(AVFrame& frame, const Passage& passage, PassageInstant now, const PictureArea& area, double scale);
void draw_places(AVFrame& frame, const Passage& passage, PassageInstant now, const PictureArea& area, double scale);

}  // namespace canalogue::film
