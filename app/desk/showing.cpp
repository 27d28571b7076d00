#include "app/desk/showing.hpp"

#include "app/core/session_record.hpp"

namespace canalogue::desk {

namespace {
// What touches the record; scans and decisions do not.
bool concerns_record(const std::string& verb) {
    for (const char* word : {"tag ", "change ", "delete ", "set side", "swap side", "undo: ", "redo: ", "import ", "move "})
        if (verb.starts_with(word)) return true;
    return false;
}
}  // namespace

Result<std::string> record_text(const Desk& desk, const std::string& id) {
    auto session = desk.session(id);
    if (!session) return session.failure();
    auto vocabulary = desk.vocabulary(session->vocabulary);
    if (!vocabulary) return vocabulary.failure();
    auto recordings = desk.recordings(id);
    if (!recordings) return recordings.failure();
    auto events = desk.events(id);
    if (!events) return events.failure();
    auto rows = desk.library.journal(id);
    if (!rows) return rows.failure();
    RecordInput input{*session, *recordings, *events, "", {}};
    for (const auto& row : *rows) {
        if (!concerns_record(row.verb)) continue;
        input.author = row.by;
        if (!session->confirmed_by.empty() && row.number > session->confirmed_row) input.later.push_back({row.at, row.by, row.verb});
    }
    return session_record(input, *vocabulary);
}

}  // namespace canalogue::desk
