// The sound of a labelled session: hum, suction, and speech at a stated level above them.
#pragma once

#include <string>
#include <vector>

#include "app/core/result.hpp"
#include "demo_media/labelled/recipe.hpp"

namespace canalogue::demo::labelled {

inline constexpr int kSoundRate = 48000;

struct HeardSpan {
    std::string words;
    double start = 0, end = 0;  // seconds
    bool name = false, real = false;
    double snr_db = 0;  // of the whole span, root mean squares
};

struct Sound {
    std::vector<float> samples;  // mono, -1..1; empty when the recording has no sound track
    std::vector<HeardSpan> spoken;
};

// Each line is spoken by a child process, which ends before this returns. Errors: machine when the synthetic voice is missing.
Result<Sound> make_sound(const Recipe& recipe);

}  // namespace canalogue::demo::labelled
