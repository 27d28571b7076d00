// Keeping a clip's plan, and looking one over.
#pragma once

#include "app/core/plan.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

// The plan that is kept with the session, if there is one; and keeping one, as one undoable act in these
// words ("trim passage 2"). The kept plan may be unfinished: it is only held against the session when it
// is rendered.
Result<std::optional<Plan>> kept_plan(const Desk& desk, const std::string& session);
Result<void> keep_plan(Desk& desk, const std::string& session, const Plan& plan, const std::string& act);

// The change that keeps a plan, for an act that does more than that.
store::Change kept(const Plan& plan);

// Refuses a plan that the session cannot serve.
Result<void> look_over(const Desk& desk, const std::string& session, const Plan& plan);

// A sentence for each question that a film's case page will leave out, because its spot is not in view.
Result<std::vector<std::string>> questions_left_out(const Desk& desk, const std::string& session, const Plan& plan);

// What in words that somebody typed could tell who the patient is ("date", "known identifier"), never its value.
std::vector<std::string> telling(const std::string& text, const std::vector<std::string>& known);

// Refuses, naming the places, a plan whose words hold a number that identifies, a date, or one of these
// known identifiers or a part of one.
Result<void> look_over_words(const Plan& plan, const std::vector<std::string>& known);

}  // namespace canalogue::desk
