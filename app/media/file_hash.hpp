// The SHA-256 of a file: what a recording is known by.
#pragma once

#include <filesystem>
#include <string>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"

namespace canalogue::media {

// 64 lower-case hexadecimal digits (FIPS 180-4 SHA-256, by libsodium). Cancelled when asked.
Result<std::string> hash_file(const std::filesystem::path& file, const Progress& progress);
std::string hash_bytes(std::string_view bytes);

}  // namespace canalogue::media
