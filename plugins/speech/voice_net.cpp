#include "plugins/speech/voice_net.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace canalogue::speech {

namespace {

constexpr std::int64_t kStateSize = 128;
constexpr std::size_t kWarmUp = kNetRate;  // samples heard twice: a second
constexpr int kThird = 3;                  // 48,000 to 16,000
constexpr int kHalfTaps = 36;

// A low pass of a windowed sinc (Blackman window), cut off at 7.2 kHz; sums to 1. Formula: textbooks on digital
// filters, common practice.
const std::array<float, 2 * kHalfTaps + 1>& low_pass() {
    static const auto taps = [] {
        std::array<float, 2 * kHalfTaps + 1> t{};
        double sum = 0;
        for (int i = -kHalfTaps; i <= kHalfTaps; ++i) {
            const double cut = 2 * 7'200.0 / 48'000, x = std::numbers::pi * cut * i, at = std::numbers::pi * i / kHalfTaps;
            const double window = .42 + .5 * std::cos(at) + .08 * std::cos(2 * at);
            t[static_cast<std::size_t>(i + kHalfTaps)] = static_cast<float>((i == 0 ? 1 : std::sin(x) / x) * cut * window);
            sum += t[static_cast<std::size_t>(i + kHalfTaps)];
        }
        for (float& each : t) each = static_cast<float>(each / sum);
        return t;
    }();
    return taps;
}

}  // namespace

void VoiceNet::forget() {
    input_ = {std::vector<float>(kContext + kStep), {1, static_cast<std::int64_t>(kContext + kStep)}};
    state_ = {std::vector<float>(2 * kStateSize), {2, 1, kStateSize}};
}

float VoiceNet::hear(std::span<const float> step) {
    std::copy(step.begin(), step.end(), input_.values.begin() + kContext);
    auto out = net_.run({{"input", &input_}, {"state", &state_}, {"sr", std::int64_t{kNetRate}}}, {"output", "stateN"});
    state_ = std::move(out[1]);
    std::copy(input_.values.end() - kContext, input_.values.end(), input_.values.begin());
    return out[0].values.at(0);
}

std::vector<float> likelihoods(VoiceNet& net, std::span<const float> samples) {
    std::array<float, kStep> step{};
    const auto hear = [&](std::size_t at) {
        const auto part = samples.subspan(at, std::min(kStep, samples.size() - at));
        std::fill(std::copy(part.begin(), part.end(), step.begin()), step.end(), 0.f);
        return net.hear(step);
    };
    net.forget();
    for (std::size_t at = 0; at < std::min(kWarmUp, samples.size()); at += kStep) hear(at);
    std::vector<float> out;
    for (std::size_t at = 0; at < samples.size(); at += kStep) out.push_back(hear(at));
    return out;
}

std::vector<float> at_net_rate(std::span<const float> samples) {
    const auto& taps = low_pass();
    const auto n = static_cast<std::ptrdiff_t>(samples.size());
    std::vector<float> out;
    out.reserve(samples.size() / kThird + 1);
    for (std::ptrdiff_t at = 0; at < n; at += kThird) {
        float sum = 0;
        for (int i = -kHalfTaps; i <= kHalfTaps; ++i)
            if (at + i >= 0 && at + i < n) sum += taps[static_cast<std::size_t>(i + kHalfTaps)] * samples[static_cast<std::size_t>(at + i)];
        out.push_back(sum);
    }
    return out;
}

}  // namespace canalogue::speech
