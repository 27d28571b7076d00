// The sound of a recording, as 48 kHz stereo floats in recording time.
#pragma once

#include <filesystem>
#include <vector>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"
#include "app/core/time.hpp"

namespace canalogue::media {

inline constexpr int kSoundRate = 48'000;
inline constexpr int kSoundChannels = 2;

// Interleaved; size is frames * kSoundChannels.
using Samples = std::vector<float>;

// Decodes `span`; silence where the recording has no sound. Samples whose own time lies in a hushed
// span are replaced by silence before resampling, so that nothing of them reaches the result.
// `zero` is the container's time of the first presented frame (RecordingFacts::zero).
Result<Samples> read_sound(const std::filesystem::path& file, Nanos zero, RecordingSpan span,
                           const std::vector<RecordingSpan>& hushed, const Progress& progress);

// How long the file's sound is. Refuses a file without sound.
Result<Nanos> sound_length(const std::filesystem::path& file);

}  // namespace canalogue::media
