// What a labelled session sounds like: suction, a synthetic voice with an invented name, and a real reader
// under noise where Debian's pocketsphinx-testdata is installed.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/core/result.hpp"
#include "demo_media/labelled/design.hpp"

namespace canalogue::demo::labelled {

struct Heard {
    std::string words;
    bool name = false, real = false;
    double start = 0, end = 0;  // seconds
};

// Writes a WAV file (48 kHz mono, 16 bits); nothing for a session without sound.
Result<std::vector<Heard>> session_sound(const Design& design, const std::filesystem::path& wav);

}  // namespace canalogue::demo::labelled
