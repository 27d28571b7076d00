// Events: placing, changing, taking away; sides; undo; the record's confirmation.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct TagWish {
    std::string session, kind;
    SessionTime at;
    std::optional<SessionTime> until;
    std::optional<Ear> ear;  // otherwise what the recording shows there; refused when that is unknown
    std::vector<std::pair<std::string, std::string>> attributes;
    std::string note;
};

struct Tagged {
    Event event;
    SessionTime at;
    std::string words;                  // "Drum visible: all, 5 o'clock"
    std::vector<std::string> warnings;  // to be read, may be overruled
};

Result<Tagged> tag(Desk& desk, const TagWish& wish);

// Only what is set changes.
struct EditWish {
    std::optional<SessionTime> at, until;
    std::optional<Ear> ear;
    std::vector<std::pair<std::string, std::string>> attributes;  // an empty value takes it away
    std::optional<std::string> note;
    bool accept = false;  // a suggestion becomes an event
};
Result<Tagged> edit_event(Desk& desk, const std::string& session, const std::string& event, const EditWish& wish);
// A suggestion that is deleted is dismissed: it is not made again.
Result<void> delete_event(Desk& desk, const std::string& session, const std::string& event);

// Sets (or, without `ear`, swaps) the side of a span of session time: recordings and the events in it,
// in one undoable act. How many events changed.
Result<int> set_side(Desk& desk, const std::string& session, SessionSpan span, std::optional<Ear> ear);

// Takes back, or does again, the last act in a session; what it was, in words.
Result<std::string> undo(Desk& desk, const std::string& session);
Result<std::string> redo(Desk& desk, const std::string& session);

Result<void> confirm_record(Desk& desk, const std::string& session);

}  // namespace canalogue::desk
