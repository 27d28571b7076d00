// The parts of recipe_for, each with a chance of its own so that a change in one leaves the others.
#pragma once

#include "demo_media/labelled/invented_words.hpp"
#include "demo_media/labelled/recipe.hpp"

namespace canalogue::demo::labelled {

inline void note(Recipe& r, const std::string& kind) {
    r.made.push_back(kind);
}
inline bool odds(Chance& chance, double part) {
    return double(chance.unit()) < part;
}

// turn: number of the session in its forty, 0..39: rare things are dealt by it, so that none is missed.
void choose_form(Recipe& r, int turn, bool small);
void choose_scope(Recipe& r, int turn);
void choose_outside(Recipe& r, int turn);
void choose_text(Recipe& r, int turn, const Person& patient);
void choose_sound(Recipe& r, int turn, const Person& patient);
void choose_metadata(Recipe& r, const Person& patient);

}  // namespace canalogue::demo::labelled
