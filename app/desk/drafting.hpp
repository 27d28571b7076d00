// Drafting a clip's plan from the events and from what can be seen once everything is covered.
#pragma once

#include "app/core/draft.hpp"
#include "app/core/plan.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct Drafted {
    Plan plan;
    Nanos length = 0;                // of the film, with the draft voice
    std::vector<std::string> notes;  // sentences: what could not be taken into account
};

// `length`: of the film, hit within a twentieth; refused, naming what is possible, when no draft that tells every outcome
// comes near it. The gauges look at covered pictures (as learners are shown them) where they have not yet; what they
// measure is kept, so that a second draft is quick.
Result<Drafted> draft(Desk& desk, const std::string& session, std::optional<Nanos> length, const Progress& progress);

// The part of it that finds the length, from what is known already.
Result<Drafted> draft_of_length(const DraftMaterial& material, const Vocabulary& vocabulary, Nanos length, const Progress& progress);

}  // namespace canalogue::desk
