#include "app/desk/planning.hpp"

#include "app/core/draft.hpp"

namespace canalogue::desk {

Result<Plan> draft(const Desk& desk, const std::string& session) {
    auto vocabulary = desk.vocabulary_of(session);
    if (!vocabulary) return vocabulary.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto events = desk.accepted_events(session);
    if (!events) return events.failure();
    return draft_plan(*recordings, *events, *vocabulary);
}

Result<void> look_over(const Desk& desk, const std::string& session, const Plan& plan) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    return plan_fits(plan, *recordings);
}

}  // namespace canalogue::desk
