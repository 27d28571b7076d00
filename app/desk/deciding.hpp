// Suspects and what is decided about them, unscanned spans included.
#pragma once

#include "app/core/cover.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

// A line of the reviewer's list: a suspect, or an unscanned span as one ("u-r1-burnt_text-0:30": whose,
// unscanned by whom, from when of the recording).
struct SuspectLine {
    Suspect suspect;
    std::string unscanned_by;  // the spotter that has not finished; empty for a real suspect
};

Result<std::vector<SuspectLine>> suspects(Desk& desk, const std::string& session);

// `ids` may hold suspects' ids, unscanned spans' ids, or "all" (the open ones). Harmless needs a reason and a named
// person. One undoable act.
Result<int> decide(Desk& desk, const std::string& session, const std::vector<std::string>& ids, Verdict verdict, const std::string& reason);

}  // namespace canalogue::desk
