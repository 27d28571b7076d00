#include "app/core/draft_stretches.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <tuple>

#include "app/core/suggest.hpp"

namespace canalogue {

namespace {

// A pause shorter than this between two events is not worth a cut.
constexpr Nanos kBridge = 3 * kSecond / 2;
constexpr Nanos kShortest = kSecond / 2;
// A glimpse shorter than this, in which nothing is told, is not worth two cuts.
constexpr Nanos kShortestAlone = 2 * kSecond;
// A removal, from the grip to the piece out of sight, about its tag: people tag when it is done (common practice).
constexpr Nanos kGripBefore = 4 * kSecond, kGoneAfter = kSecond / 4;

bool always_told(const EventKind& kind) { return kind.heading == Heading::outcome || kind.refers || kind.weight >= 5; }

// How clear the view is about an instant, 0..1; 1 where nothing was measured.
double clarity_at(const DraftMaterial& material, const Event& e) {
    constexpr Nanos kAround = kSecond;
    double sum = 0;
    int count = 0;
    for (const auto& t : material.clarity) {
        if (t.recording != e.recording || t.channel != "clarity") continue;
        for (std::size_t i = 0; i < t.bytes.size(); ++i)
            if (const auto v = t.value(i); v && t.time(i) >= e.at - kAround && t.time(i) <= e.at + kAround) sum += *v, ++count;
    }
    return count ? sum / count : 1;
}

// An event is worth the more the weightier its kind, the rarer it is in its ear, and the clearer it can be seen.
struct Worth {
    Told* told;
    double worth;
};

void choose(std::vector<std::vector<Told>>& all, const DraftMaterial& material, const DraftShape& shape) {
    std::map<std::pair<std::string, Ear>, int> alike;
    for (auto& list : all)
        for (auto& t : list) ++alike[{t.kind->id, t.event->ear}];
    std::vector<Worth> optional;
    std::map<Ear, bool> begun;
    for (auto& list : all)
        for (auto& t : list) {
            t.wanted = t.kind->weight > 0;
            // Without what was found first there is no story of that ear.
            const bool first_found = t.kind->heading == Heading::found && !std::exchange(begun[t.event->ear], true);
            if (!t.wanted || always_told(*t.kind) || first_found) continue;
            const double rarity = 1 / std::sqrt(alike[{t.kind->id, t.event->ear}]);
            optional.push_back({&t, t.kind->weight * rarity * (0.25 + 0.75 * clarity_at(material, *t.event))});
        }
    std::stable_sort(optional.begin(), optional.end(), [](const Worth& a, const Worth& b) { return a.worth > b.worth; });
    const auto keep = static_cast<std::size_t>(std::ceil(shape.share * static_cast<double>(optional.size()) - 1e-9));
    for (std::size_t i = keep; i < optional.size(); ++i) optional[i].told->wanted = false;
}

// From where the view is lost to where it is back, for each cause by itself: a lens that is wiped
// while the scope is out shows nothing of the ear yet.
std::vector<RecordingSpan> blind_spans(const std::vector<Told>& told, const Recording& r) {
    std::vector<RecordingSpan> out;
    std::map<std::string, RecordingTime> lost;
    std::set<std::string> known;
    for (const auto& t : told) {
        if (!t.kind->blind.empty()) lost.emplace(t.kind->blind, t.end()), known.insert(t.kind->blind);
        // What comes back without having been lost was not there from the start.
        if (!t.kind->sighted.empty() && known.insert(t.kind->sighted).second) lost.emplace(t.kind->sighted, r.only.start);
        const auto it = lost.find(t.kind->sighted);
        if (it == lost.end()) continue;
        out.push_back({it->second, t.event->at});
        lost.erase(it);
    }
    for (const auto& [cause, since] : lost) out.push_back({since, r.only.end});
    return out;
}

// A person tags a little late, and a cover over what lies outside begins before it and ends after: what
// is next to a blind span goes with it, as long as no event worth telling stands there.
constexpr Nanos kBesideBlind = kSecond, kBesideEvent = kSecond / 2;
void widen(std::vector<RecordingSpan>& blind, const std::vector<Told>& told) {
    for (auto& b : blind) {
        RecordingTime from = b.start - kBesideBlind, until = b.end + kBesideBlind;
        for (const auto& t : told) {
            if (t.kind->weight == 0) continue;
            if (t.event->at <= b.start) from = std::max(from, t.end() + kBesideEvent);
            if (t.event->at >= b.end) until = std::min(until, t.event->at - kBesideEvent);
        }
        b = {std::min(b.start, from), std::max(b.end, until)};
    }
}

// The removals of a recording, each from the grip to the piece out of sight, as far as it can be seen: the view came back
// before the grip, or nobody could have worked.
std::vector<RecordingSpan> removals(const std::vector<Told>& told, const std::vector<RecordingSpan>& seen) {
    std::vector<RecordingSpan> out;
    for (const auto& t : told) {
        if (t.kind->heading != Heading::removed) continue;
        const RecordingSpan w{t.event->until ? t.event->at : t.event->at - kGripBefore, t.end() + kGoneAfter};
        for (const auto& s : seen)
            if (s.holds(t.event->at)) out.push_back({std::max(w.start, s.start), std::min(w.end, s.end)});
    }
    return united(std::move(out));
}

// A cut inside a removal goes to its outer end.
RecordingSpan without_half_removals(RecordingSpan s, const std::vector<RecordingSpan>& whole) {
    for (const auto& w : whole) {
        if (w.start < s.start && s.start < w.end) s.start = w.start;
        if (w.start < s.end && s.end < w.end) s.end = w.end;
    }
    return s;
}

}  // namespace

std::vector<std::vector<Told>> chosen(const DraftMaterial& material, const Vocabulary& v, const DraftShape& shape) {
    std::vector<std::vector<Told>> all;
    for (const auto& r : material.recordings) {
        auto& out = all.emplace_back();
        for (const auto& e : material.events) {
            const EventKind* kind = v.find(e.kind);
            if (kind && e.recording == r.id && r.only.holds(e.at)) out.push_back({&e, kind});
        }
        std::stable_sort(out.begin(), out.end(), [](const Told& a, const Told& b) {
            return std::tie(a.event->at, a.event->id) < std::tie(b.event->at, b.event->id);
        });
    }
    choose(all, material, shape);
    return all;
}

std::vector<EarSpan> stretches(const std::vector<Told>& told, const Recording& r, const std::vector<RecordingSpan>& unseen, const DraftShape& shape) {
    std::vector<RecordingSpan> wanted;
    for (const auto& t : told)
        if (t.wanted) wanted.push_back({std::max(t.event->at - shape.lead, r.only.start), std::min(t.end() + shape.tail + kBridge, r.only.end)});
    auto blind = blind_spans(told, r);
    blind.insert(blind.end(), unseen.begin(), unseen.end());
    widen(blind, told);
    const auto whole = removals(told, gaps_in(r.only, blind));
    std::vector<RecordingSpan> cut;
    for (auto s : united(std::move(wanted))) {
        if (s.end < r.only.end) s.end = s.end - kBridge;
        const auto parts = gaps_in(s, blind);
        const auto tells = [&](const RecordingSpan& part) { return std::any_of(told.begin(), told.end(), [&](const Told& t) { return t.wanted && part.holds(t.event->at); }); };
        // Something that must be told and cannot be seen keeps what is next to it.
        const bool must = std::any_of(told.begin(), told.end(), [&](const Told& t) {
            return t.wanted && always_told(*t.kind) && s.holds(t.event->at) && std::none_of(parts.begin(), parts.end(), [&](const RecordingSpan& part) { return part.holds(t.event->at); });
        });
        for (const auto& part : parts) {
            const auto kept = without_half_removals(part, whole);
            if (kept.length() >= (must || tells(kept) ? kShortest : kShortestAlone)) cut.push_back(kept);
        }
    }
    // One side to a passage: a stretch is cut where the side changes.
    std::vector<EarSpan> out;
    for (const auto& s : united(std::move(cut)))
        for (const auto& e : r.ears)
            if (e.span.meets(s)) out.push_back({{std::max(s.start, e.span.start), std::min(s.end, e.span.end)}, e.ear});
    return out;
}

std::map<std::string, std::vector<RecordingSpan>> unseen_in(const std::vector<Trace>& traces, const std::vector<Recording>& recordings) {
    std::map<std::string, std::vector<RecordingSpan>> out;
    std::map<std::pair<std::string, bool>, RecordingTime> lost;  // by recording and whether it is the lens
    for (const auto& s : suggestions_from(traces)) {
        const bool lens = s.kind == "lens-smeared" || s.kind == "lens-wiped";
        if (s.kind == "lens-smeared" || s.kind == "scope-out") {
            lost.emplace(std::pair{s.recording, lens}, s.at);
        } else {
            const auto it = lost.find({s.recording, lens});
            // Back from the start on: it was out when the recording began.
            RecordingTime from{0};
            if (it != lost.end()) from = it->second, lost.erase(it);
            else if (lens) continue;
            out[s.recording].push_back({from, s.at});
        }
    }
    for (const auto& [where, since] : lost)
        for (const auto& r : recordings)
            if (r.id == where.first) out[r.id].push_back({since, r.only.end});
    for (auto& [id, spans] : out) spans = united(std::move(spans));
    return out;
}

}  // namespace canalogue
