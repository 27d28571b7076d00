#include "app/desk/drafting.hpp"

#include <algorithm>
#include <cmath>

#include "app/desk/gauging.hpp"
#include "app/desk/signing.hpp"
#include "app/desk/sources.hpp"
#include "export/schedule.hpp"
#include "export/voice.hpp"

namespace canalogue::desk {

namespace {

constexpr double kNearEnough = 0.01, kStillNear = 0.05;

// A plan and how long its film is; lines are spoken once.
class Measured {
  public:
    Measured(const DraftMaterial& material, const Vocabulary& vocabulary) : material_(material), vocabulary_(vocabulary) {}

    Result<Drafted> draft(const DraftShape& shape) {
        auto plan = draft_plan(material_, vocabulary_, shape);
        if (!plan) return plan.failure();
        film::NarrationLengths lengths;
        for (const auto& item : plan->items) {
            lengths.emplace_back();
            for (const auto& line : narration_of(item)) {
                auto it = spoken_.find(line.text);
                if (it == spoken_.end()) {
                    auto said = film::speak(line.text, plan->language);
                    if (!said) return said.failure();
                    it = spoken_.emplace(line.text, said->length()).first;
                }
                lengths.back().push_back(it->second);
            }
        }
        const Nanos length = film::schedule(*plan, {}, lengths).length();
        return Drafted{std::move(*plan), length, {}};
    }

  private:
    const DraftMaterial& material_;
    const Vocabulary& vocabulary_;
    std::map<std::string, Nanos> spoken_;
};

double off(Nanos length, Nanos wanted) { return std::abs(static_cast<double>(length) / static_cast<double>(wanted) - 1); }

// Of all shapes, the one that comes nearest at its own pace; then its pace is found by halving, until the length is hit.
// Where it cannot be (the voice needs its time), the next nearest is tried.
Result<Drafted> of_length(Measured& measured, Nanos wanted, const Progress& progress) {
    struct Candidate {
        DraftShape shape;
        double off;
    };
    std::vector<Candidate> all;
    Nanos shortest = INT64_MAX, longest = 0;
    std::optional<Failure> refused;
    for (const auto& shape : draft_shapes()) {
        if (progress.stopped()) return cancelled();
        auto d = measured.draft(shape);
        if (!d) refused = d.failure();  // the barest may tell of nothing that can be seen
        else all.push_back({shape, std::abs(std::log(static_cast<double>(d->length) / static_cast<double>(wanted)))});
    }
    if (all.empty()) return *refused;
    const DraftShape barest = all.front().shape, fullest = all.back().shape;
    std::stable_sort(all.begin(), all.end(), [](const Candidate& a, const Candidate& b) { return a.off < b.off; });
    std::optional<Drafted> best;
    for (const auto& candidate : all) {
        double low = 1 / 8.0, high = 8;  // of `quicker`: the film grows shorter with it
        for (int round = 0; round < 16; ++round) {
            if (progress.stopped()) return cancelled();
            DraftShape shape = candidate.shape;
            shape.quicker = round == 0 ? low : round == 1 ? high : std::sqrt(low * high);
            auto d = measured.draft(shape);
            if (!d) return d;
            shortest = std::min(shortest, d->length), longest = std::max(longest, d->length);
            if (!best || off(d->length, wanted) < off(best->length, wanted)) best = *d;
            if (off(best->length, wanted) < kNearEnough) return *best;
            if ((round == 0 && d->length < wanted) || (round == 1 && d->length > wanted)) break;
            if (round > 1) (d->length > wanted ? low : high) = shape.quicker;
        }
    }
    if (off(best->length, wanted) <= kStillNear) return *best;
    for (DraftShape shape : {barest, fullest}) {
        for (const double quicker : {8.0, 1 / 8.0}) {
            shape.quicker = quicker;
            auto d = measured.draft(shape);
            if (!d) return d;
            shortest = std::min(shortest, d->length), longest = std::max(longest, d->length);
        }
    }
    return wrong_use("This session gives no draft of " + format_clock(wanted) + ": drafts of it are between " + format_clock(shortest) + " and " + format_clock(longest) + " long, and tell every outcome that can be seen.");
}

}  // namespace

Result<Drafted> draft_of_length(const DraftMaterial& material, const Vocabulary& vocabulary, Nanos length, const Progress& progress) {
    Measured measured(material, vocabulary);
    return of_length(measured, length, progress);
}

Result<Drafted> draft(Desk& desk, const std::string& session, std::optional<Nanos> length, const Progress& progress) {
    auto vocabulary = desk.vocabulary_of(session);
    if (!vocabulary) return vocabulary.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto events = desk.accepted_events(session);
    if (!events) return events.failure();
    auto covers = covers_now(desk, session, Audience::learners);
    if (!covers) return covers.failure();
    DraftMaterial material{std::move(*recordings), std::move(*events), {}, {}};
    Measured measured(material, *vocabulary);
    // Whoever has tagged nothing is told so before anything is measured.
    if (auto first = measured.draft({}); !first) return first;
    auto seen = measure_covered(desk, session, *covers, progress);
    if (!seen) return seen.failure();
    const auto gauged = unseen_in(seen->traces, material.recordings);
    std::map<std::string, std::vector<RecordingSpan>> covered;
    for (const auto& recording : material.recordings) {
        auto index = desk.index(recording, progress);
        if (!index) return index.failure();
        // A picture that began before its cover ends is covered as long as it is shown.
        for (const auto& cover : (*covers)[recording.id].picture)
            if (cover.whole) covered[recording.id].push_back((*index)->shown_within(cover.span));
    }
    material.unseen = covered;
    for (const auto& [id, spans] : gauged) material.unseen[id].insert(material.unseen[id].end(), spans.begin(), spans.end());
    material.clarity = std::move(seen->traces);
    // What is told is shown, even where it cannot be seen: a person may know better, or decide what is harmless.
    const char* left_aside = nullptr;
    if (!measured.draft({})) {
        material.unseen = covered;
        left_aside = "The gauges see nothing of an ear around the events, so what they say was left aside.";
        if (!measured.draft({})) {
            material.unseen.clear();
            left_aside = "Everything around the events is covered, so the film would show nothing there: scan the session, decide what is harmless, and draft again.";
        }
    }
    if (left_aside) seen->troubles.emplace_back(left_aside);
    progress.report("Drafting", 0);
    auto drafted = length ? of_length(measured, *length, progress) : measured.draft({});
    if (drafted) drafted->plan.session = session, drafted->notes = std::move(seen->troubles);
    return drafted;
}

}  // namespace canalogue::desk
