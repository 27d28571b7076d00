// A first plan for a clip, from the session's events alone: the same events give the same plan, and
// nothing that lies under a cover can move it.
#pragma once

#include "app/core/plan.hpp"
#include "app/core/session.hpp"
#include "app/core/vocabulary.hpp"

namespace canalogue {

// Events must be accepted ones; recordings in session order. Refuses when there is no event to tell about.
Result<Plan> draft_plan(const std::vector<Recording>& recordings, const std::vector<Event>& events,
                        const Vocabulary& vocabulary);

}  // namespace canalogue
