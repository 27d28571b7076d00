#include "app/desk/deciding.hpp"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <set>

#include "app/core/known.hpp"
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
constexpr std::size_t kFewestLetters = 3;
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

// Words are kept one reading a line.
std::vector<std::string> readings(const std::string& words) {
    std::vector<std::string> out;
    for (std::size_t at = 0; at < words.size();) {
        const std::size_t end = std::min(words.find('\n', at), words.size());
        out.push_back(legible(words.substr(at, end - at)));
        at = end + 1;
    }
    return out;
}

}  // namespace

bool asks_for_a_decision(const SuspectLine& line) { return line.suspect.decision.verdict == Verdict::open && !line.hidden; }

const char* state_of(const SuspectLine& line) {
    if (line.hidden) return "under a cover";
    return line.suspect.decision.verdict == Verdict::open ? "open" : line.suspect.decision.verdict == Verdict::cover ? "covered" : "harmless";
}

std::string in_short(const std::vector<std::string>& readings, std::size_t most) {
    std::string out;
    std::set<std::string> said;  // blanks and look-alikes apart, many say the same
    for (const auto& reading : readings)
        if (said.insert(reader_form(reading)).second && said.size() <= most) out += (out.empty() ? "" : " | ") + reading;
    if (said.size() > most) out += " | and " + std::to_string(said.size() - most) + " more";
    return out;
}

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
    std::set<std::string> hidden;
    for (const auto& r : *recordings)
        for (auto& id : hidden_by_decided(r, *all)) hidden.insert(std::move(id));
    for (auto& s : *all) {
        auto read = readings(words[s.id]);
        const bool under = hidden.count(s.id) > 0;
        out.push_back({std::move(s), "", under, std::move(read)});
    }
    const auto versions = desk.spotter_versions();
    for (const auto& r : *recordings)
        for (const auto& u : unscanned(r, *scanned, versions)) out.push_back({as_suspect(session, r, u), u.spotter, false, {}});
    return out;
}

namespace {

// The lines that an id of the wish means. Neither "all" nor a range stands in for watching (an unscanned span
// is decided by its own id), sweeps away what somebody decided to cover, or judges what lies under a cover.
Result<std::vector<const SuspectLine*>> meant_by(const std::string& id, const std::vector<SuspectLine>& lines) {
    const Range range = range_of(id);
    if (range.last < range.first) return wrong_use("'" + legible(id) + "' is no range: write the lower number first. Nothing was decided.");
    const bool many = id == "all" || range.given();
    bool found = id == "all";
    std::vector<const SuspectLine*> out;
    for (const auto& line : lines) {
        if (id != "all" && !range.holds(line.suspect.id) && line.suspect.id != id) continue;
        found = true;
        const bool open = line.unscanned_by.empty() && asks_for_a_decision(line);
        if (!many || open) out.push_back(&line);
    }
    if (!found) return wrong_use("There is no suspect '" + legible(id) + "' in this session; 'canalogue suspects' lists them. Nothing was decided.");
    return out;
}

Holding read_in(const std::vector<std::string>& readings, const std::string& identifier) {
    Holding most = Holding::nothing;
    for (const auto& reading : readings) most = std::max(most, read_with(reading, identifier));
    return most;
}

// Whoever uncovers a row of suspects does not read each: the patient's own name must not go with them.
Result<void> none_named(const Desk& desk, const DecideWish& wish, const std::vector<const SuspectLine*>& chosen) {
    if (wish.passphrase.empty() || wish.although_named) return {};
    auto known = open_known(desk, wish.session, wish.passphrase);
    if (!known) return known.failure();
    for (const auto* line : chosen)
        for (const auto& identifier : *known)
            if (const auto held = read_in(line->words, identifier); held != Holding::nothing)
                return refused(line->suspect.id + " was read as a " + std::string(name_of(held)) + " of this session, so it stays covered. Nothing was decided.");
    return {};
}

}  // namespace

Result<int> decide(Desk& desk, const DecideWish& wish) {
    auto reason = one_line(wish.reason, "The reason");
    if (!reason) return reason.failure();
    const bool harmless = wish.verdict == Verdict::harmless;
    if (harmless && letters_in(*reason) < kFewestLetters) return wrong_use("Why is it harmless? Only a recorded reason uncovers: give one, in words (--reason \"...\").");
    if (harmless && letters_in(desk.person) == 0) return wrong_use("Who decides? Only a named person uncovers: add --by NAME.");
    auto lines = suspects(desk, wish.session, wish.passphrase);
    if (!lines) return lines.failure();
    std::vector<const SuspectLine*> chosen;
    for (const auto& id : wish.ids) {
        auto meant = meant_by(id, *lines);
        if (!meant) return meant.failure();
        for (const auto* line : *meant)
            if (std::find(chosen.begin(), chosen.end(), line) == chosen.end()) chosen.push_back(line);
    }
    if (harmless)
        if (auto ok = none_named(desk, wish, chosen); !ok) return ok.failure();
    std::vector<store::Change> changes;
    Seen uncovered;
    for (const auto* line : chosen) {
        const Suspect& was = line->suspect;
        if (line->unscanned_by.empty()) {
            Suspect s = was;
            s.decision = {wish.verdict, *reason, desk.person};
            changes.push_back(store::put(s));
        } else if (harmless) {
            auto mark = desk.library.next_id(wish.session, "c");
            if (!mark) return mark.failure();
            changes.push_back(store::put(*mark, Scanned{was.recording, line->unscanned_by, "watched", was.span, desk.person, *reason}));
        } else {
            continue;  // it is covered as it is
        }
        if (was.kind != SuspectKind::metadata) uncovered[was.recording].push_back(was.span);
    }
    if (changes.empty()) return 0;
    const int decided = static_cast<int>(changes.size());
    auto done = desk.library.commit({wish.session, "decide " + std::string(name_of(wish.verdict)), desk.person, std::move(changes)});
    if (!done) return done.failure();
    if (harmless)
        if (auto ok = forget_seen(desk, wish.session, uncovered); !ok) return ok.failure();
    return decided;
}

}  // namespace canalogue::desk
