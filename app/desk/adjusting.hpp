// Changing a suspect by hand: its size, its span, one into two. Each is one undoable act.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

// Grows every box of it by so many pixels on each side; a negative number makes it smaller, which only a
// suspect made by hand may become.
Result<void> widen(Desk& desk, const std::string& session, const std::string& suspect, int pixels);

// Two suspects from one: up to `at`, and from there. The new one's id; both keep the decision.
Result<std::string> split(Desk& desk, const std::string& session, const std::string& suspect, RecordingTime at);

// Another span. Made shorter only when it was made by hand; a spotter's is judged, not cut off.
Result<void> set_span(Desk& desk, const std::string& session, const std::string& suspect, RecordingSpan span);

}  // namespace canalogue::desk
