#include "app/desk/planning.hpp"

#include <algorithm>

#include "app/core/identifiers.hpp"
#include "app/core/known.hpp"
#include "app/core/text.hpp"
#include "app/desk/takes.hpp"
#include "export/render.hpp"
#include "export/voice.hpp"
#include "export/question_points.hpp"

namespace canalogue::desk {

namespace {
constexpr const char* kPlanKind = "plan";
constexpr const char* kPlanId = "plan";

// Other visits beside passages: there, with the recording that is named, at an instant that it has, of the ear it shows.
Result<void> visits_fit(const Desk& desk, const std::string& session, const Plan& plan, std::vector<Recording> all) {
    for (const auto& item : plan.items) {
        const auto* p = std::get_if<Passage>(&item);
        if (!p || !p->beside || p->beside->session.empty()) continue;
        const std::string visit = p->beside->session;
        if (visit == session) return wrong_use("The plan names its own session as the other visit beside a passage: take \"session\" out of 'beside'.");
        if (auto s = desk.session(visit); !s) return wrong_use("The plan shows session '" + legible(visit) + "' beside this one, and the library does not have it.");
        auto theirs = desk.recordings(visit);
        if (!theirs) return theirs.failure();
        if (std::none_of(theirs->begin(), theirs->end(), [&](const Recording& r) { return r.id == p->beside->recording; }))
            return wrong_use("The plan shows recording '" + legible(p->beside->recording) + "' of session '" + legible(visit) + "' beside this one, which that session does not have.");
        for (auto& r : *theirs) r.id = visit + "/" + r.id, all.push_back(std::move(r));
    }
    return plan_fits(plan, all);
}

}  // namespace

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

store::Change kept(const Plan& plan) { return {kPlanKind, kPlanId, nlohmann::json{{"private", {{"plan", plan_to_json(plan)}}}}}; }

Result<void> keep_plan(Desk& desk, const std::string& session, const Plan& plan, const std::string& act) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto done = desk.library.commit({session, act, desk.person, {kept(plan)}});
    if (!done) return done.failure();
    return {};
}

Result<void> look_over(const Desk& desk, const std::string& session, const Plan& plan) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    if (!plan.session.empty() && plan.session != session)
        return wrong_use("The plan was made for session '" + legible(plan.session) + "': name that one, or take the line \"session\" out of the plan if it is meant for this one, too.");
    if (auto ok = plan_fits(plan, *recordings); !ok) return ok;
    if (auto ok = visits_fit(desk, session, plan, std::move(*recordings)); !ok) return ok;
    for (const auto& item : plan.items) {
        for (const auto& line : narration_of(item))
            if (line.take.empty())
                if (auto voice = film::can_speak(plan.language); !voice) return voice;
    }
    if (auto ok = film::words_can_be_drawn(plan); !ok) return ok;
    return takes_are_there(desk, session, plan);
}

Result<std::vector<std::string>> questions_left_out(const Desk& desk, const std::string& session, const Plan& plan) {
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    return film::questions_left_out(plan, *recordings);
}

std::vector<std::string> telling(const std::string& text, const std::vector<std::string>& known) {
    std::vector<std::string> out;
    for (const auto& hit : identifiers_in(spoken_digits_written(text))) out.push_back(hit.what);
    for (const auto& identifier : known)
        if (const auto held = written_with(text, identifier); held != Holding::nothing) out.emplace_back(name_of(held));
    return out;
}

Result<void> look_over_words(const Plan& plan, const std::vector<std::string>& known) {
    std::string found;
    for (const auto& [where, text] : texts_of(plan))
        for (const auto& what : telling(text, known)) found += (found.empty() ? "" : ", ") + where + " (" + what + ")";
    if (found.empty()) return {};
    return refused("The plan's words could tell who the patient is: " + found + ". Word it in another way.");
}

}  // namespace canalogue::desk
