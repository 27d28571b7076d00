// The library as a person looks through it: each session in short, and which of them answer a search.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct SessionCard {
    std::string id;
    Nanos length = 0;                  // of its recordings
    int recordings = 0, events = 0, open_suspects = 0;
    bool right = false, left = false;  // which ears it shows
    bool confirmed = false;
    std::vector<std::string> kinds;    // of its events, without repetition
    std::map<std::string, std::string> outcomes, others;  // the same kinds with their names: outcomes, and the rest
    std::vector<std::string> words;    // of its events as described, and the outcome first
    std::vector<std::filesystem::path> exports;  // that are still where they were put
};

Result<std::vector<SessionCard>> session_cards(const Desk& desk);

struct Search {
    std::string text;         // every word of it must be found; case does not matter
    std::string kind;         // empty: any
    std::optional<Ear> ear;
};
bool answers(const SessionCard& card, const Search& search);

}  // namespace canalogue::desk
