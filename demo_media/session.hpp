// Makes a drawn ear-care session: two scope recordings of one invented visit and a truth file that
// says what can be seen and heard in them and when. No outside data goes in; every name, number and
// place is a test value. README.md beside this file documents truth.json.
#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "app/core/geometry.hpp"
#include "app/core/progress.hpp"
#include "app/core/result.hpp"

namespace canalogue::demo {

struct Options {
    std::uint64_t seed = 7;
    canalogue::Size size{1280, 720};  // pixels; both even, at least 160x90, at most 3840x2160
    int frames_per_second = 25;       // 5..60
    double seconds = 60;              // both recordings together, 3..3600; the first takes 60 %
};

struct Made {
    std::vector<std::filesystem::path> recordings;  // right ear, then left ear
    std::filesystem::path truth;
};

// Writes the session into `folder` (made if missing). The files appear together when all are
// complete, replacing files of the same names; a run that fails or is stopped leaves nothing behind.
// The same options give the same bytes on one machine. Uses three threads; reports from the calling
// thread. Only one call at a time makes speech (the voice library is one per process), others wait.
// Errors: wrong_use for options out of range, machine for a folder that cannot be written.
Result<Made> make_session(const std::filesystem::path& folder, const Options& options,
                          const Progress& progress);

}  // namespace canalogue::demo
