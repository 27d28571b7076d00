// Steady noise of a recorded voice lowered: fans, hiss, hum. By libavfilter's FFT denoiser.
#pragma once

#include <cstdint>
#include <vector>

#include "app/core/result.hpp"

namespace canalogue::media {

// By at most so many decibels: more makes a voice sound as if under water (measured by ear on drawn noise; from memory of
// common practice).
inline constexpr int kNoiseLowered = 12;

// `floor`: how loud the noise is, in dBFS; what is fainter than it counts as noise. Mono, 16 bits, kSoundRate; the result has the same length and nothing is shifted. The same samples give the same samples.
Result<std::vector<std::int16_t>> lower_noise(const std::vector<std::int16_t>& voice, double floor);

}  // namespace canalogue::media
