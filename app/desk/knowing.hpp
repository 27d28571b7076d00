// Known identifiers: what the clinician typed in for a session, sealed with the library's passphrase.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

// Makes the vault with the first passphrase; later ones must be the same.
Result<int> add_known(Desk& desk, const std::string& session, const std::vector<std::string>& identifiers, const std::string& passphrase);

// How many are sealed; needs no passphrase.
Result<int> count_known(const Desk& desk, const std::string& session);

Result<std::vector<std::string>> open_known(const Desk& desk, const std::string& session, const std::string& passphrase);

}  // namespace canalogue::desk
