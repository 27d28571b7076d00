// The whole job on the drawn demo session, from nothing to a checked export: what app/run.sh shows.
#pragma once

#include <filesystem>

#include "app/cli/commands.hpp"

namespace canalogue::cli {

// Makes DIR/recordings, DIR/library and DIR/export. Recordings that are there already are used again.
int run_demo(const std::filesystem::path& folder, std::uint64_t seed, double seconds, bool recordings_only);

}  // namespace canalogue::cli
