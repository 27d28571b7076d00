#include "app/desk/deciding.hpp"

#include <algorithm>
#include <cctype>
#include <charconv>

#include "app/core/text.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/watching.hpp"

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

// "x3..x9": the suspects of these numbers, both ends included.
struct Range {
    long first = 0, last = 0;
    bool given() const { return first > 0; }
    bool holds(const std::string& id) const {
        const long n = number_in(id);
        return given() && n >= first && n <= last;
    }
    // 0 when the id is not a letter x and a number.
    static long number_in(std::string_view id) {
        long n = 0;
        if (id.size() < 2 || id[0] != 'x') return 0;
        const auto [end, error] = std::from_chars(id.data() + 1, id.data() + id.size(), n);
        return error == std::errc() && end == id.data() + id.size() ? n : 0;
    }
};

Range range_of(std::string_view id) {
    const auto dots = id.find("..");
    if (dots == std::string_view::npos) return {};
    const Range range{Range::number_in(id.substr(0, dots)), Range::number_in(id.substr(dots + 2))};
    return range.first > 0 && range.last > 0 ? range : Range{};
}

}  // namespace

Result<std::vector<SuspectLine>> suspects(Desk& desk, const std::string& session, const std::string& passphrase) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto all = desk.library.all<Suspect>(session);
    if (!all) return all.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto scanned = desk.library.all<Scanned>(session);
    if (!scanned) return scanned.failure();
    std::vector<SuspectLine> out;
    std::map<std::string, std::string> words;
    if (!passphrase.empty()) {
        auto read = open_words(desk, session, passphrase);
        if (!read) return read.failure();
        words = std::move(*read);
    }
    for (auto& s : *all) {
        const std::string read = legible(words[s.id]);
        out.push_back({std::move(s), "", read});
    }
    const auto versions = desk.spotter_versions();
    for (const auto& r : *recordings)
        for (const auto& u : unscanned(r, *scanned, versions)) out.push_back({as_suspect(session, r, u), u.spotter, ""});
    return out;
}

Result<int> decide(Desk& desk, const std::string& session, const std::vector<std::string>& ids, Verdict verdict, const std::string& why) {
    auto reason = one_line(why, "The reason");
    if (!reason) return reason.failure();
    if (verdict == Verdict::harmless && letters(*reason) < kFewestLetters)
        return wrong_use("Why is it harmless? Only a recorded reason uncovers: add --reason \"...\".");
    if (verdict == Verdict::harmless && letters(desk.person) == 0) return wrong_use("Who decides? Only a named person uncovers: add --by NAME.");
    auto lines = suspects(desk, session);
    if (!lines) return lines.failure();
    std::vector<store::Change> changes;
    int decided = 0;
    Seen uncovered;
    for (const auto& id : ids) {
        const Range range = range_of(id);
        if (range.last < range.first) return wrong_use("'" + legible(id) + "' is no range: write the lower number first. Nothing was decided.");
        const bool many = id == "all" || range.given();
        bool found = id == "all";
        for (const auto& line : *lines) {
            if (id != "all" && !range.holds(line.suspect.id) && line.suspect.id != id) continue;
            found = true;
            if (line.unscanned_by.empty()) {
                // "all" and ranges mean those that are open: what somebody decided to cover is not swept away.
                if (many && line.suspect.decision.verdict != Verdict::open) continue;
                Suspect s = line.suspect;
                s.decision = {verdict, *reason, desk.person};
                changes.push_back(store::put(s));
            } else if (verdict == Verdict::harmless) {
                // Neither stands in for watching: an unscanned span is decided by its own id.
                if (many) continue;
                auto mark = desk.library.next_id(session, "c");
                if (!mark) return mark.failure();
                changes.push_back(store::put(*mark, Scanned{line.suspect.recording, line.unscanned_by, "watched", line.suspect.span, desk.person, *reason}));
            } else {
                continue;  // it is covered as it is
            }
            ++decided;
            if (line.suspect.kind != SuspectKind::metadata) uncovered[line.suspect.recording].push_back(line.suspect.span);
        }
        if (!found) return wrong_use("There is no suspect '" + legible(id) + "' in this session; 'canalogue suspects' lists them. Nothing was decided.");
    }
    if (changes.empty()) return 0;
    auto done = desk.library.commit({session, "decide " + std::string(name_of(verdict)), desk.person, std::move(changes)});
    if (!done) return done.failure();
    if (verdict == Verdict::harmless)
        if (auto ok = forget_seen(desk, session, uncovered); !ok) return ok.failure();
    return decided;
}

}  // namespace canalogue::desk
