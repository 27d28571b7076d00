// Where in a film its questions are asked, and where in the film's picture a spot to be marked lies.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "export/schedule.hpp"

namespace canalogue::film {

// Where a film puts pictures: they are fitted into this room, in its middle (see Composer).
struct FilmRoom {
    Size film, room;
    std::map<std::string, Size> pictures;  // recording -> size of its fitted picture
};

struct PlacedQuestion {
    std::size_t item = 0, number = 0;  // of plan.items[item].questions[number]
    FilmTime at;                       // the first frame that shows its instant
    std::optional<ShareBox> spot;      // in shares of the whole film picture; none: it has choices
};

// In film order. A question whose spot is not in view is left out: nobody could mark it.
std::vector<PlacedQuestion> placed_questions(const Plan& plan, const Schedule& schedule, const FilmRoom& room);

// What a viewer sees of a spot when the passage shows instant t, in shares of the passage's picture as it is shown;
// none when less than half of it is in view. `shape`: width by height of the picture.
std::optional<ShareBox> spot_in_view(const Passage& passage, const ShareBox& spot, RecordingTime t, double shape);

// A sentence for each question that the page will leave out, and why. `recordings` tell the pictures' shapes.
std::vector<std::string> questions_left_out(const Plan& plan, const std::vector<Recording>& recordings);

}  // namespace canalogue::film
