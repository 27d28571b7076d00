#include "app/core/draft.hpp"

#include <algorithm>
#include <cmath>

#include "app/core/audience.hpp"
#include "app/core/event_rules.hpp"

namespace canalogue {

namespace {

// What a viewer needs before and after an event to understand it.
constexpr Nanos kLead = 2 * kSecond, kTail = 5 * kSecond / 2;
// A pause shorter than this between two events is not worth a cut.
constexpr Nanos kBridge = 3 * kSecond / 2;
// A passage longer than this is quickened down towards it, but never beyond kQuickest.
constexpr Nanos kCalmLength = 10 * kSecond;
constexpr double kQuickest = 3.0;
constexpr Nanos kLandmarkHold = 5 * kSecond / 2;
constexpr Nanos kTitleCard = 4 * kSecond, kEndCard = 6 * kSecond;

struct Told {
    const Event* event;
    const EventKind* kind;
    RecordingTime end() const { return event->until.value_or(event->at); }
};

std::vector<Told> worth_telling(const Recording& r, const std::vector<Event>& events, const Vocabulary& v) {
    std::vector<Told> out;
    for (const auto& e : events) {
        const EventKind* kind = v.find(e.kind);
        if (kind && e.recording == r.id && r.only.holds(e.at)) out.push_back({&e, kind});
    }
    std::stable_sort(out.begin(), out.end(), [](const Told& a, const Told& b) {
        return std::tie(a.event->at, a.event->id) < std::tie(b.event->at, b.event->id);
    });
    return out;
}

// From where the view is lost to where it is back, for each cause by itself: a lens that is wiped
// while the scope is out shows nothing of the ear yet.
std::vector<RecordingSpan> blind_spans(const std::vector<Told>& told, const Recording& r) {
    std::vector<RecordingSpan> out;
    std::map<std::string, RecordingTime> lost;
    for (const auto& t : told) {
        if (!t.kind->blind.empty()) lost.emplace(t.kind->blind, t.end());
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

// The stretches around the events, joined where they nearly touch, without the blind spans.
std::vector<RecordingSpan> stretches(const std::vector<Told>& told, const Recording& r) {
    std::vector<RecordingSpan> wanted;
    for (const auto& t : told) {
        if (t.kind->weight == 0) continue;
        wanted.push_back({std::max(t.event->at - kLead, r.only.start), std::min(t.end() + kTail + kBridge, r.only.end)});
    }
    auto blind = blind_spans(told, r);
    widen(blind, told);
    std::vector<RecordingSpan> out;
    for (auto s : united(std::move(wanted))) {
        if (s.end < r.only.end) s.end = s.end - kBridge;
        for (const auto& part : gaps_in(s, blind))
            if (part.length() >= kSecond / 2) out.push_back(part);
    }
    return out;
}

// One side to a passage: a stretch is cut where the side changes.
std::vector<EarSpan> by_side(const std::vector<RecordingSpan>& spans, const Recording& r) {
    std::vector<EarSpan> out;
    for (const auto& s : spans)
        for (const auto& e : r.ears)
            if (e.span.meets(s)) out.push_back({{std::max(s.start, e.span.start), std::min(s.end, e.span.end)}, e.ear});
    return out;
}

std::string capital(std::string text) {
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 32);
    return text;
}

Passage passage_for(const EarSpan& part, const Recording& r, const std::vector<Told>& told) {
    Passage p;
    p.recording = r.id;
    p.span = part.span;
    p.ear = part.ear;
    int best = 0;
    std::string last_line;
    for (const auto& t : told) {
        if (!p.span.holds(t.event->at) || t.event->ear != p.ear || t.kind->weight == 0) continue;
        p.labels.push_back({t.event->at, std::min(std::max(t.end(), t.event->at + kTail), p.span.end),
                            described(*t.event, *t.kind, FreeText::leave_out)});
        if (t.kind->landmark) p.holds.push_back({t.event->at, kLandmarkHold});
        if (t.kind->weight > best) {
            best = t.kind->weight;
            p.chapter = capital(std::string(name_of(p.ear))) + " ear: " + capital(t.kind->name);
        }
        const std::string line = capital(filled_in(t.kind->says, *t.event));
        // The tenth piece coming away needs no tenth sentence.
        if (!line.empty() && line != last_line) p.narration.push_back(line);
        last_line = line;
    }
    // Labels follow one another; two at once could not be read.
    for (std::size_t i = 0; i + 1 < p.labels.size(); ++i)
        p.labels[i].until = std::min(p.labels[i].until, std::max(p.labels[i + 1].from, p.labels[i].from + kMillisecond));
    const double calm = static_cast<double>(p.span.length()) / static_cast<double>(kCalmLength);
    if (calm > 1.2) p.pace = std::round(std::min(calm, kQuickest) * 4) / 4;
    return p;
}

Card title_card(const std::vector<Told>& all, const std::string& title) {
    Card card{Card::Role::title, title, {}, kTitleCard, "Introduction", {}};
    bool right = false, left = false;
    for (const auto& t : all) (t.event->ear == Ear::right ? right : left) = true;
    const std::string sides = right && left ? "both ears" : right ? "the right ear" : "the left ear";
    card.lines = {capital(sides), std::string(teaching_caution())};
    card.narration = {"Ear care under the endoscope: " + sides + "."};
    return card;
}

// Every outcome and every referral is told, on as many cards as that takes.
std::vector<Card> end_cards(const std::vector<Told>& all) {
    constexpr std::size_t kLines = 6;  // what fits a card in readable letters
    std::vector<std::string> lines;
    for (const auto& t : all) {
        if (t.kind->heading != Heading::outcome && !t.kind->refers) continue;
        const std::string line = capital(std::string(name_of(t.event->ear))) + " ear: " + described(*t.event, *t.kind, FreeText::leave_out);
        if (std::find(lines.begin(), lines.end(), line) == lines.end()) lines.push_back(line);
    }
    if (lines.empty()) lines.push_back("No outcome was recorded.");
    std::vector<Card> cards;
    for (std::size_t from = 0; from < lines.size(); from += kLines) {
        Card card{Card::Role::end, "Outcome", {}, kEndCard, from == 0 ? "Outcome" : "", {}};
        const auto first = lines.begin() + static_cast<std::ptrdiff_t>(from);
        card.lines.assign(first, first + static_cast<std::ptrdiff_t>(std::min(kLines, lines.size() - from)));
        cards.push_back(std::move(card));
    }
    cards.back().lines.push_back(std::string(teaching_caution()));
    cards.back().narration = {"This film teaches. It does not diagnose. Follow local policy."};
    return cards;
}

// The recording's own rate where films commonly have it, else the nearest common one.
int film_rate(const std::vector<Recording>& recordings) {
    const double rate = recordings.empty() ? 25 : recordings.front().frames_per_second;
    return rate > 27 && !(rate > 47 && rate < 53) ? 30 : 25;
}

}  // namespace

Result<Plan> draft_plan(const std::vector<Recording>& recordings, const std::vector<Event>& events,
                        const Vocabulary& vocabulary) {
    Plan plan;
    plan.title = "Ear care case";
    plan.film.frames_per_second = film_rate(recordings);
    std::vector<Told> all;
    std::vector<PlanItem> passages;
    for (const auto& r : recordings) {
        const auto told = worth_telling(r, events, vocabulary);
        all.insert(all.end(), told.begin(), told.end());
        for (const auto& part : by_side(stretches(told, r), r)) passages.emplace_back(passage_for(part, r, told));
    }
    if (passages.empty())
        return wrong_use("There is no event to tell about yet: tag the session first (canalogue tag SESSION KIND --at TIME).");
    plan.items.emplace_back(title_card(all, plan.title));
    for (auto& p : passages) plan.items.push_back(std::move(p));
    for (auto& card : end_cards(all)) plan.items.emplace_back(std::move(card));
    return plan;
}

}  // namespace canalogue
