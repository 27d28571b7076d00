// A recorded take made ready for a film: the silence at its ends taken off, its level matched, its words
// placed. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "app/core/result.hpp"
#include "app/media/sound_reader.hpp"
#include "export/voice.hpp"

namespace canalogue::film {

// Mono, 16 bits, media::kSoundRate. Leaves a little of the quiet around speech, so that no breath is cut.
// Refuses a take in which nobody can be heard.
Result<std::vector<std::int16_t>> without_silent_ends(const std::vector<std::int16_t>& take);

// Both channels as one, at 16 bits.
std::vector<std::int16_t> as_mono(const media::Samples& stereo);

// Its noise lowered (media/noise.hpp), and brought to the loudness of the draft voice, so that lines of both kinds can follow one another, peaks kept
// below full scale. Words are placed where they are heard (word_alignment.hpp); where they cannot be found, by their length
// along the parts in which somebody speaks: an estimate.
Spoken as_spoken(const std::vector<std::int16_t>& take, const std::string& says);

}  // namespace canalogue::film
