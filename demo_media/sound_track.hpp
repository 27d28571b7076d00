// The room's sound: quiet tone, the suction's hiss, and the clinician's first sentence.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "app/core/result.hpp"
#include "demo_media/script.hpp"

namespace canalogue::demo {

struct SpokenSpan {
    std::string words;
    bool name = false;          // says who the patient is
    double start = 0, end = 0;  // seconds in the recording
};

struct SoundTrack {
    std::vector<float> samples;      // mono, -1..1, kSoundRate, as long as the recording
    std::vector<SpokenSpan> spoken;  // only words that are heard to their end
};

Result<SoundTrack> make_sound(const Script& script, std::uint64_t seed);

}  // namespace canalogue::demo
