// When each word of a recorded line is said, found in the sound itself.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "export/captions.hpp"

namespace canalogue::film {

// take: mono, media::kSoundRate, of one line. A mark for each word of `says` (as parted by blanks) with the time at which it
// begins. nullopt where the words do not hold: another language, numbers that may be said in several ways, or a sound
// in which they are not found; then they can only be estimated. Any thread; calls wait for one another.
std::optional<std::vector<WordMark>> words_in(const std::vector<std::int16_t>& take, const std::string& says);

}  // namespace canalogue::film
