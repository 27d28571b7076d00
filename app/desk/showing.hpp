// The record of a session, as text.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

Result<std::string> record_text(const Desk& desk, const std::string& session);

}  // namespace canalogue::desk
