#include "app/desk/planning.hpp"

#include "app/core/draft.hpp"

namespace canalogue::desk {

namespace {
constexpr const char* kPlanKind = "plan";
constexpr const char* kPlanId = "plan";
}  // namespace

Result<Plan> draft(const Desk& desk, const std::string& session) {
    auto vocabulary = desk.vocabulary_of(session);
    if (!vocabulary) return vocabulary.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto events = desk.accepted_events(session);
    if (!events) return events.failure();
    return draft_plan(*recordings, *events, *vocabulary);
}

Result<std::optional<Plan>> kept_plan(const Desk& desk, const std::string& session) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto body = desk.library.body(session, kPlanKind, kPlanId);
    if (!body) return body.failure();
    // What people wrote into it is sealed with the session; without its key there is no plan.
    if (!*body || !(**body).contains("private")) return std::optional<Plan>{};
    auto plan = plan_from_json((**body)["private"].value("plan", ""));
    if (!plan) return plan.failure();
    return std::optional<Plan>(std::move(*plan));
}

Result<void> keep_plan(Desk& desk, const std::string& session, const Plan& plan, const std::string& act) {
    if (auto s = desk.session(session); !s) return s.failure();
    const nlohmann::json body = {{"private", {{"plan", plan_to_json(plan)}}}};
    auto done = desk.library.commit({session, act, desk.person, {{kPlanKind, kPlanId, body}}});
    if (!done) return done.failure();
    return {};
}

Result<void> look_over(const Desk& desk, const std::string& session, const Plan& plan) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    return plan_fits(plan, *recordings);
}

}  // namespace canalogue::desk
