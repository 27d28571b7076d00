// A clip's make-up: what stays the same from case to case, as a JSON file that a person can edit and give to the next
// draft: the film's settings, notes and warnings on cards before the first and after the last passage, who made it for
// whom, credits, tags, consent and conflicts. Title and end cards tell the case: the outcome of one patient must never
// stand in the film of another, so they are not part of it.
#pragma once

#include <string>
#include <vector>

#include "app/core/plan.hpp"

namespace canalogue {

struct MakeUp {
    FilmSettings film;
    std::vector<Card> before, after;  // notes and warnings
    About about;  // made_by, made_for, credits, tags, consent, conflicts; the rest is empty
};

MakeUp make_up_of(const Plan& plan);

// Gives a plan this make-up: warnings stand before everything, notes after the title, and after the end cards. Notes
// and warnings of the plan's own go where the make-up has some. What the make-up says nothing of stays.
void apply(const MakeUp& make_up, Plan& plan);

// A file: {"canalogue_make_up": 1, "film": {...}, "about": {...}, "before": [cards], "after": [cards]}, each part
// written as in a plan. Refuses, naming the place, what does not follow that.
std::string make_up_to_json(const MakeUp& make_up);
Result<MakeUp> make_up_from_json(const std::string& text);

// Film settings as they are given by word: "1080x1920", "message", "webm", megabytes; what is empty or 0 stays.
struct FilmWords {
    std::string size, target, format;
    double megabytes = 0;
};
Result<void> read_film_settings(FilmSettings& film, const FilmWords& words);

}  // namespace canalogue
