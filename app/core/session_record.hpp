// The session's record as a clinician would paste it into the notes.
#pragma once

#include <string>
#include <vector>

#include "app/core/session.hpp"
#include "app/core/vocabulary.hpp"

namespace canalogue {

struct LaterChange {
    std::string at, by, what;  // UTC time, name, plain words
};

struct RecordInput {
    Session session;
    std::vector<Recording> recordings;  // in session order
    std::vector<Event> events;          // all; unaccepted suggestions are left out here
    std::string author;                 // of the last change
    std::vector<LaterChange> later;     // after the confirmation
};

// Plain text: per ear what was found, done, removed, left, drum, comfort, outcome; with times, counts
// and how long. Says draft until it was confirmed.
std::string session_record(const RecordInput& input, const Vocabulary& vocabulary);

}  // namespace canalogue
