#include "app/desk/deciding.hpp"

#include <algorithm>
#include <cctype>

namespace canalogue::desk {

namespace {

// The id tells the span itself: a number in a list would come to mean another span once one before it
// is decided, and somebody would uncover what they never watched.
Suspect as_suspect(const std::string& session, const Recording& r, const Unscanned& u) {
    Suspect s;
    s.id = "u-" + r.id + "-" + u.spotter + "-" + format_time(u.span.start.ns);
    s.session = session;
    s.recording = r.id;
    s.kind = SuspectKind::outside;
    s.span = u.span;
    s.sureness = 0;
    s.spotter = u.spotter;
    s.field = "not scanned";
    return s;
}

// A full stop or a blank is no reason, and no name.
constexpr long kFewestLetters = 3;
long letters(const std::string& text) {
    return std::count_if(text.begin(), text.end(), [](unsigned char c) { return std::isalpha(c) || c >= 0x80; });
}

}  // namespace

Result<std::vector<SuspectLine>> suspects(Desk& desk, const std::string& session) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto all = desk.library.all<Suspect>(session);
    if (!all) return all.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto scanned = desk.library.all<Scanned>(session);
    if (!scanned) return scanned.failure();
    std::vector<SuspectLine> out;
    for (auto& s : *all) out.push_back({std::move(s), ""});
    const auto versions = desk.spotter_versions();
    for (const auto& r : *recordings)
        for (const auto& u : unscanned(r, *scanned, versions)) out.push_back({as_suspect(session, r, u), u.spotter});
    return out;
}

Result<int> decide(Desk& desk, const std::string& session, const std::vector<std::string>& ids, Verdict verdict, const std::string& reason) {
    if (verdict == Verdict::harmless && letters(reason) < kFewestLetters)
        return wrong_use("Why is it harmless? Only a recorded reason uncovers: add --reason \"...\".");
    if (verdict == Verdict::harmless && letters(desk.person) == 0) return wrong_use("Who decides? Only a named person uncovers: add --by NAME.");
    auto lines = suspects(desk, session);
    if (!lines) return lines.failure();
    std::vector<store::Change> changes;
    int decided = 0;
    for (const auto& id : ids) {
        bool found = id == "all";
        for (const auto& line : *lines) {
            if (id != "all" && line.suspect.id != id) continue;
            found = true;
            if (line.unscanned_by.empty()) {
                // "all" means all that are open: what somebody decided to cover is not swept away.
                if (id == "all" && line.suspect.decision.verdict != Verdict::open) continue;
                Suspect s = line.suspect;
                s.decision = {verdict, reason, desk.person};
                changes.push_back(store::put(s));
            } else if (verdict == Verdict::harmless) {
                // "all" never stands in for watching: an unscanned span is decided by its own id.
                if (id == "all") continue;
                auto mark = desk.library.next_id(session, "c");
                if (!mark) return mark.failure();
                changes.push_back(store::put(*mark, Scanned{line.suspect.recording, line.unscanned_by, "watched", line.suspect.span, desk.person, reason}));
            } else {
                continue;  // it is covered as it is
            }
            ++decided;
        }
        if (!found) return wrong_use("There is no suspect '" + id + "' in this session; 'canalogue suspects' lists them. Nothing was decided.");
    }
    if (changes.empty()) return 0;
    auto done = desk.library.commit({session, "decide " + std::string(name_of(verdict)), desk.person, std::move(changes)});
    if (!done) return done.failure();
    return decided;
}

}  // namespace canalogue::desk
