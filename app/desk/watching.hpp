// What the reviewer has really watched, in the public look. The window tells what was shown; nothing
// else may.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

// By recording. United, in order.
using Seen = std::map<std::string, std::vector<RecordingSpan>>;

Result<Seen> seen(const Desk& desk, const std::string& session);

// Adds what was shown; one row of the journal.
Result<void> keep_seen(Desk& desk, const std::string& session, const Seen& more);

// What of the session nobody has watched yet.
Result<Seen> unseen(const Desk& desk, const std::string& session);

// What was uncovered must be watched again: forgets these spans. A row of its own, which is never undone:
// bringing a cover back does not bring back what was seen without it.
Result<void> forget_seen(Desk& desk, const std::string& session, const Seen& spans);

}  // namespace canalogue::desk
