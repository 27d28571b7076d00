// Loudness (ITU-R BS.1770, by libebur128) and a limiter that keeps true peaks under a ceiling.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "app/core/result.hpp"
#include "app/media/sound_reader.hpp"

namespace canalogue::film {

struct Loudness {
    double integrated = 0;  // LUFS; -infinity for silence
    double true_peak = 0;   // dBTP
};

// Measures 48 kHz stereo sound given in pieces.
class LoudnessMeter {
  public:
    explicit LoudnessMeter(bool with_peak = true);  // without, true_peak says nothing: finding it costs most of the time
    ~LoudnessMeter();
    LoudnessMeter(const LoudnessMeter&) = delete;
    LoudnessMeter& operator=(const LoudnessMeter&) = delete;
    void add(const media::Samples& samples);
    Loudness result() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

// Multiplies by a gain and keeps the true peak (4x oversampled) at or under a ceiling by turning the
// level down around a peak. Delays by `kDelay` frames; the first so many frames out are silence and
// the caller feeds as many frames of silence at the end.
class Limiter {
  public:
    static constexpr int kLookahead = 240;  // 5 ms at 48 kHz
    static constexpr int kTaps = 12;        // of the interpolator, each side together
    static constexpr int kDelay = kLookahead + kTaps / 2;

    Limiter(double gain, double ceiling);
    media::Samples process(const media::Samples& in);

  private:
    // Every one of the kLookahead minima that a frame's gain is the mean of must have seen that frame.
    static constexpr std::size_t kWindow = kLookahead + 1;
    std::vector<float> peaks(std::size_t first, std::size_t count) const;
    static std::vector<float> least_of_windows(const std::vector<float>& values);
    double gain_, ceiling_;
    std::vector<float> past_;      // interleaved frames waiting
    std::vector<float> wanted_;    // gain each waiting frame asks for
    std::vector<float> lowest_;    // lowest gain over the look-ahead window
    double sum_ = 0;
};

}  // namespace canalogue::film
