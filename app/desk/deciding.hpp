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
    bool hidden = false;       // open, but under a decided cover: nobody needs to decide it
    std::vector<std::string> words;  // every reading of it, when the vault was opened for this list
};

// Open, and somebody must still decide it.
bool asks_for_a_decision(const SuspectLine& line);

// "open", "covered", "harmless", or "under a cover" (open, but nobody needs to decide it).
const char* state_of(const SuspectLine& line);

// The first of them, for a line of a list.
std::string in_short(const std::vector<std::string>& readings, std::size_t most = 3);

// With the passphrase, the words that were read come with them.
Result<std::vector<SuspectLine>> suspects(Desk& desk, const std::string& session, const std::string& passphrase = "");

// `ids` may hold suspects' ids, unscanned spans' ids, "x3..x9" or "all" (of these two: the open ones).
// Harmless needs a reason and a named person; with the passphrase, what was read as a known identifier or a
// part of one is refused unless `although_named`. One undoable act; how many were decided.
struct DecideWish {
    std::string session;
    std::vector<std::string> ids;
    Verdict verdict = Verdict::cover;
    std::string reason;
    std::string passphrase = "";
    bool although_named = false;
};
Result<int> decide(Desk& desk, const DecideWish& wish);

}  // namespace canalogue::desk
