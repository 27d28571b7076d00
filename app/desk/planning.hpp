// Drafting a clip's plan, and looking one over.
#pragma once

#include "app/core/plan.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

Result<Plan> draft(const Desk& desk, const std::string& session);

// Refuses a plan that the session cannot serve.
Result<void> look_over(const Desk& desk, const std::string& session, const Plan& plan);

}  // namespace canalogue::desk
