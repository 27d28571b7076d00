// The whole job on the drawn demo session, from nothing to a checked export: what app/run.sh shows.
#pragma once

#include <filesystem>

#include "app/cli/commands.hpp"

namespace canalogue::cli {

struct DemoWish {
    std::filesystem::path folder;
    std::filesystem::path into;    // another library than DIR/library: the session is put there, tagged and scanned, and no film is made
    std::uint64_t seed = 7;
    double seconds = 60;
    bool recordings_only = false;
    std::string by = "demo clinician";
};

// Makes DIR/recordings, DIR/library and DIR/export. Recordings that are there already are used again.
int run_demo(const DemoWish& wish);

}  // namespace canalogue::cli
