// Known identifiers: what the clinician typed in for a session, sealed with the library's passphrase.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

// Under which name the library keeps what spotters read.
inline constexpr const char* kWordsRead = "words";

// Makes the vault with the first passphrase; later ones must be the same.
Result<int> add_known(Desk& desk, const std::string& session, const std::vector<std::string>& identifiers, const std::string& passphrase);

// How many are sealed; needs no passphrase. Refuses an unknown session.
Result<int> count_known(const Desk& desk, const std::string& session);

Result<std::vector<std::string>> open_known(const Desk& desk, const std::string& session, const std::string& passphrase);

// The words that spotters read for each suspect, by its id. Only what was read since the library has a
// passphrase is there.
Result<std::map<std::string, std::string>> open_words(const Desk& desk, const std::string& session, const std::string& passphrase);

}  // namespace canalogue::desk
