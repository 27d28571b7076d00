// What makes an event acceptable, and what is worth warning about.
#pragma once

#include <string>
#include <vector>

#include "app/core/session.hpp"
#include "app/core/vocabulary.hpp"

namespace canalogue {

// Attributes every kind has: "clock" (1..12) and "depth" (outer, middle, deep).
bool is_common_attribute(std::string_view id);

// Puts `text` into the event after checking it against the vocabulary: choices, numbers, the clock.
// An empty text takes the attribute away.
Result<void> set_attribute(Event& event, const EventKind& kind, const std::string& id, const std::string& text);

// Instants have no end; spans may be open-ended while the film runs but never run backwards.
Result<void> check_times(const Event& event, const EventKind& kind, const Recording& recording);

// Sentences a person should read but may overrule: a landmark whose clock position belongs to the
// other side (mirrored picture, wrong ear), a side that is not the recording's.
std::vector<std::string> warnings_for(const Event& event, const EventKind& kind, const Recording& recording);

// "A piece[ of {material}] comes away from the {ear} ear" with the event's values. What is unknown leaves
// no trace: a part in [ ] goes with a slot in it that is unknown, and "{instrument|instrument}" brings
// its own word for that case.
std::string filled_in(const std::string& pattern, const Event& event);

// "Piece removed: hard wax, 3 mm, 5 o'clock, deep". Free text may name somebody: it is left out where
// the words go into a film or an export.
enum class FreeText { keep, leave_out };
std::string described(const Event& event, const EventKind& kind, FreeText free_text);

}  // namespace canalogue
