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
    std::string words;         // what was read there, when the vault was opened for this list
};

// With the passphrase, the words that were read come with them.
Result<std::vector<SuspectLine>> suspects(Desk& desk, const std::string& session, const std::string& passphrase = "");

// `ids` may hold suspects' ids, unscanned spans' ids, "x3..x9" or "all" (of these two: the open ones).
// Harmless needs a reason and a named person. One undoable act; how many were decided.
Result<int> decide(Desk& desk, const std::string& session, const std::vector<std::string>& ids, Verdict verdict, const std::string& reason);

}  // namespace canalogue::desk
