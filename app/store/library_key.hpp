// The library's folder as it lies on disk: its key, and whether a database is safe there. Internal to app/store.
#pragma once

#include <filesystem>

#include "app/core/result.hpp"
#include "app/store/sealing.hpp"

namespace canalogue::store {

// File systems on which locks or shared memory of SQLite's WAL do not hold (statfs magic numbers, Linux).
bool is_network_share(const std::filesystem::path& folder);

// Reads the library's key, making it when the library is new. Refuses a damaged or missing one.
Result<SealKey> library_key(const std::filesystem::path& folder, bool new_library);

}  // namespace canalogue::store
