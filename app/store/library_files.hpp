// The library's folder as it lies on disk: its key, its sealed takes, and whether
// a database is safe there. Internal to app/store.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "app/core/result.hpp"
#include "app/store/sealing.hpp"

namespace canalogue::store {

// File systems on which locks or shared memory of SQLite's WAL do not hold (statfs magic numbers, Linux).
bool is_network_share(const std::filesystem::path& folder);

// Reads the library's key, making it when the library is new. Refuses a damaged or missing one.
Result<SealKey> library_key(const std::filesystem::path& folder, bool new_library);

// Sessions and ids hold letters, digits, '-' and '_' alone.
std::filesystem::path take_file(const std::filesystem::path& folder, const std::string& session, const std::string& id);

// The file is there whole, and on disk, or not at all.
Result<void> write_whole(const std::filesystem::path& file, const std::string& bytes);
std::optional<std::string> read_whole(const std::filesystem::path& file);

}  // namespace canalogue::store
