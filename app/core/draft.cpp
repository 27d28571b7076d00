#include "app/core/draft.hpp"

#include <algorithm>
#include <cmath>

#include "app/core/audience.hpp"
#include "app/core/draft_stretches.hpp"
#include "app/core/event_rules.hpp"

namespace canalogue {

namespace {

// A passage longer than this is quickened down towards it, but by itself never beyond kQuickest.
constexpr Nanos kCalmLength = 10 * kSecond;
constexpr double kQuickest = 3.0;
constexpr Nanos kTitleCard = 4 * kSecond, kEndCard = 6 * kSecond;
// The pace of a quickened passage grows and falls this long, so that nobody takes the change for a fault.
constexpr Nanos kRamp = kSecond;
constexpr Nanos kLabelStays = 5 * kSecond / 2;

std::string capital(std::string text) {
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 32);
    return text;
}

Passage passage_for(const EarSpan& part, const Recording& r, const std::vector<Told>& told, const DraftShape& shape) {
    Passage p;
    p.recording = r.id;
    p.span = part.span;
    p.ear = part.ear;
    int best = 0;
    std::string last_line;
    for (const auto& t : told) {
        if (!p.span.holds(t.event->at) || t.event->ear != p.ear || t.kind->weight == 0) continue;
        // What is shown only by chance is named, but not dwelt on.
        p.labels.push_back({t.event->at, std::min(std::max(t.end(), t.event->at + kLabelStays), p.span.end),
                            described(*t.event, *t.kind, FreeText::leave_out)});
        if (t.kind->landmark && t.wanted) p.holds.push_back({t.event->at, shape.hold});
        if (t.kind->weight > best) {
            best = t.kind->weight;
            p.chapter = capital(std::string(name_of(p.ear))) + " ear: " + capital(t.kind->name);
        }
        const std::string line = capital(filled_in(t.kind->says, *t.event));
        // The tenth piece coming away needs no tenth sentence.
        if (t.wanted && !line.empty() && line != last_line) p.narration.push_back(line);
        if (t.wanted) last_line = line;
    }
    // Labels follow one another; two at once could not be read.
    for (std::size_t i = 0; i + 1 < p.labels.size(); ++i)
        p.labels[i].until = std::min(p.labels[i].until, std::max(p.labels[i + 1].from, p.labels[i].from + kMillisecond));
    const double calm = static_cast<double>(p.span.length()) / static_cast<double>(kCalmLength);
    if (calm > 1.2) p.pace = std::round(std::min(calm, kQuickest) * 4) / 4;
    if (shape.quicker != 1) p.pace = std::round(std::clamp(p.pace * shape.quicker, kSlowestDraft, kQuickestDraft) * 1000) / 1000;
    if (p.pace > 1.2 && p.span.length() > 4 * kRamp) p.ramp = kRamp;
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

const std::vector<DraftShape>& draft_shapes() {
    static const std::vector<DraftShape> kShapes{
        {0, kSecond, kSecond, 3 * kSecond / 2},
        {0.15, kSecond, kSecond, 3 * kSecond / 2},
        {0.3, 3 * kSecond / 2, 3 * kSecond / 2, 2 * kSecond},
        {0.5, 3 * kSecond / 2, 2 * kSecond, 2 * kSecond},
        {0.75, 2 * kSecond, 2 * kSecond, 5 * kSecond / 2},
        {},
        {1, 3 * kSecond, 4 * kSecond, 3 * kSecond},
        {1, 5 * kSecond, 6 * kSecond, 7 * kSecond / 2},
        {1, 10 * kSecond, 10 * kSecond, 4 * kSecond},
        {1, 60 * kSecond, 60 * kSecond, 5 * kSecond},
        {1, 600 * kSecond, 600 * kSecond, 6 * kSecond},
    };
    return kShapes;
}

Result<Plan> draft_plan(const DraftMaterial& material, const Vocabulary& vocabulary, const DraftShape& shape) {
    Plan plan;
    plan.title = "Ear care case";
    plan.film.frames_per_second = film_rate(material.recordings);
    std::vector<Told> all;
    std::vector<PlanItem> passages;
    const auto told = chosen(material, vocabulary, shape);
    for (std::size_t i = 0; i < material.recordings.size(); ++i) {
        const Recording& r = material.recordings[i];
        all.insert(all.end(), told[i].begin(), told[i].end());
        const auto unseen = material.unseen.find(r.id);
        for (const auto& part : stretches(told[i], r, unseen == material.unseen.end() ? std::vector<RecordingSpan>{} : unseen->second, shape))
            passages.emplace_back(passage_for(part, r, told[i], shape));
    }
    if (passages.empty())
        return wrong_use("There is no event to tell about yet: tag the session first (canalogue tag SESSION KIND --at TIME).");
    plan.items.emplace_back(title_card(all, plan.title));
    for (auto& p : passages) plan.items.push_back(std::move(p));
    for (auto& card : end_cards(all)) plan.items.emplace_back(std::move(card));
    return plan;
}

}  // namespace canalogue
