// A first plan for a clip, from the session's events and from what can be seen of it once everything is covered:
// the same input gives the same plan, and nothing that lies under a cover can move it.
#pragma once

#include <map>

#include "app/core/plan.hpp"
#include "app/core/session.hpp"
#include "app/core/trace.hpp"
#include "app/core/vocabulary.hpp"

namespace canalogue {

// What a draft is made from. Recordings in session order, events accepted ones.
struct DraftMaterial {
    std::vector<Recording> recordings;
    std::vector<Event> events;
    // Where nothing of the ear is shown, by recording: wholly covered, out of the ear, or blind.
    std::map<std::string, std::vector<RecordingSpan>> unseen;
    // Of the covered pictures, channel "clarity"; may be empty.
    std::vector<Trace> clarity;
};

// How much a draft tells, and how long it stays. The values are the ones of a draft without a wanted length.
struct DraftShape {
    double share = 1;                  // of the events that need not be told, the weightiest; the others always are
    Nanos lead = 2 * kSecond;          // shown before an event ...
    Nanos tail = 5 * kSecond / 2;      // ... and after it
    Nanos hold = 5 * kSecond / 2;      // on a landmark
    double quicker = 1;                // every pace times this, within kSlowestDraft and kQuickestDraft
};

inline constexpr double kSlowestDraft = 0.5, kQuickestDraft = 4.0;

// From the barest to the fullest: for hitting a wanted length. Every one tells all outcomes and referrals.
const std::vector<DraftShape>& draft_shapes();

// Refuses when there is no event to tell about.
Result<Plan> draft_plan(const DraftMaterial& material, const Vocabulary& vocabulary, const DraftShape& shape = {});

// From what gauges measured of covered pictures: where the scope is out of the ear or its lens is smeared, up to where
// the view is back.
std::map<std::string, std::vector<RecordingSpan>> unseen_in(const std::vector<Trace>& traces, const std::vector<Recording>& recordings);

}  // namespace canalogue
