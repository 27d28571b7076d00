// Which events a draft tells and which stretches of a recording show them. Private to this floor.
#pragma once

#include "app/core/draft.hpp"

namespace canalogue {

struct Told {
    const Event* event;
    const EventKind* kind;
    bool wanted = true;  // shown for its own sake; the others only say where nothing can be seen, or are shown by chance
    RecordingTime end() const { return event->until.value_or(event->at); }
};

// The events of each recording (in their order) in order of time; `wanted` are those that this shape tells.
std::vector<std::vector<Told>> chosen(const DraftMaterial& material, const Vocabulary& vocabulary, const DraftShape& shape);

// The stretches around what is wanted, one side to each, joined where they nearly touch, without what cannot be seen; a
// removal is whole in a stretch or not in it at all.
std::vector<EarSpan> stretches(const std::vector<Told>& told, const Recording& recording, const std::vector<RecordingSpan>& unseen, const DraftShape& shape);

}  // namespace canalogue
