// The sound of a recording, as 48 kHz stereo floats in recording time.
#pragma once

#include <filesystem>
#include <memory>
#include <vector>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"
#include "app/core/time.hpp"

namespace canalogue::media {

inline constexpr int kSoundRate = 48'000;
inline constexpr int kSoundChannels = 2;

// Interleaved; size is frames * kSoundChannels.
using Samples = std::vector<float>;

// `frames` of them from `first` on as one channel: both sides at equal power. The reader spreads a mono recording over
// two sides by the same factor, so that it comes back as it was.
std::vector<float> as_mono(const Samples& samples, std::size_t first, std::size_t frames);

// A recording's sound, held open for reading stretch after stretch. For one thread at a time.
class SoundReader {
  public:
    // `zero` is the container's time of the first presented frame (RecordingFacts::zero).
    static Result<SoundReader> open(const std::filesystem::path& file, Nanos zero);
    SoundReader(SoundReader&&) noexcept;
    SoundReader& operator=(SoundReader&&) noexcept;
    ~SoundReader();

    // Decodes `span`, see read_sound.
    Result<Samples> read(RecordingSpan span, const std::vector<RecordingSpan>& hushed, const Progress& progress);

  private:
    struct State;
    explicit SoundReader(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

// Opens and decodes `span`; silence where the recording has no sound. Samples whose own time lies in a hushed
// span are replaced by silence before resampling, so that nothing of them reaches the result.
Result<Samples> read_sound(const std::filesystem::path& file, Nanos zero, RecordingSpan span,
                           const std::vector<RecordingSpan>& hushed, const Progress& progress);

// How long the file's sound is. Refuses a file without sound.
Result<Nanos> sound_length(const std::filesystem::path& file);

}  // namespace canalogue::media
