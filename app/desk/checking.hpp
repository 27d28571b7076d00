// Checking a finished film or export.
#pragma once

#include "app/desk/desk.hpp"
#include "export/check.hpp"

namespace canalogue::desk {

// `session` and `passphrase`: compare with the identifiers sealed for it; both may be empty.
Result<film::CheckOptions> check_options(Desk& desk, const std::string& session, const std::string& passphrase);

Result<film::CheckReport> check(Desk& desk, const std::filesystem::path& place, const std::string& session, const std::string& passphrase, const Progress& progress);

}  // namespace canalogue::desk
