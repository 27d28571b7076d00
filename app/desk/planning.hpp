// Drafting a clip's plan.
#pragma once

#include "app/core/plan.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

Result<Plan> draft(const Desk& desk, const std::string& session);

}  // namespace canalogue::desk
