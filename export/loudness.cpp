#include "export/loudness.hpp"

#include <ebur128.h>

#include <array>
#include <cmath>

namespace canalogue::film {

struct LoudnessMeter::State {
    ebur128_state* meter = ebur128_init(media::kSoundChannels, media::kSoundRate, EBUR128_MODE_I | EBUR128_MODE_TRUE_PEAK);
    ~State() { ebur128_destroy(&meter); }
};

LoudnessMeter::LoudnessMeter() : state_(std::make_unique<State>()) {}
LoudnessMeter::~LoudnessMeter() = default;

void LoudnessMeter::add(const media::Samples& samples) {
    ebur128_add_frames_float(state_->meter, samples.data(), samples.size() / media::kSoundChannels);
}

Loudness LoudnessMeter::result() const {
    Loudness out;
    if (ebur128_loudness_global(state_->meter, &out.integrated) != EBUR128_SUCCESS) out.integrated = -HUGE_VAL;
    double peak = 0;
    for (unsigned c = 0; c < media::kSoundChannels; ++c) {
        double p = 0;
        if (ebur128_true_peak(state_->meter, c, &p) == EBUR128_SUCCESS) peak = std::max(peak, p);
    }
    out.true_peak = 20 * std::log10(std::max(peak, 1e-10));
    return out;
}

namespace {

constexpr int kPhases = 4;
// Every one of the kLookahead minima that a frame's gain is the mean of must have seen that frame.
constexpr int kWindow = Limiter::kLookahead + 1;

// Windowed-sinc interpolation at quarter-sample steps (Hann window): ITU-R BS.1770 asks for at least
// four times oversampling at 48 kHz.
using Phase = std::array<float, Limiter::kTaps>;
std::array<Phase, kPhases> interpolator() {
    std::array<Phase, kPhases> out{};
    for (int p = 0; p < kPhases; ++p) {
        double sum = 0;
        for (int t = 0; t < Limiter::kTaps; ++t) {
            const double x = t - (Limiter::kTaps / 2 - 1) - p / double(kPhases);
            const double sinc = std::abs(x) < 1e-9 ? 1.0 : std::sin(M_PI * x) / (M_PI * x);
            const double window = 0.5 * (1 + std::cos(M_PI * x / (Limiter::kTaps / 2)));
            out[static_cast<std::size_t>(p)][static_cast<std::size_t>(t)] = static_cast<float>(sinc * window);
            sum += sinc * window;
        }
        for (auto& v : out[static_cast<std::size_t>(p)]) v = static_cast<float>(v / sum);
    }
    return out;
}

}  // namespace

Limiter::Limiter(double gain, double ceiling) : gain_(gain), ceiling_(ceiling) {
    past_.assign(static_cast<std::size_t>(kDelay) * 2, 0.0f);
    wanted_.assign(kWindow, 1.0f);
    lowest_.assign(kLookahead, 1.0f);
    sum_ = kLookahead;
}

// The largest magnitude between this frame and the next, of both channels.
float Limiter::peak_at(std::size_t frame) const {
    static const auto phases = interpolator();
    float peak = 0;
    for (std::size_t c = 0; c < 2; ++c)
        for (const auto& phase : phases) {
            float v = 0;
            for (int t = 0; t < kTaps; ++t) {
                const auto i = static_cast<std::ptrdiff_t>(frame) + t - (kTaps / 2 - 1);
                if (i >= 0 && i * 2 + 1 < static_cast<std::ptrdiff_t>(past_.size()))
                    v += phase[static_cast<std::size_t>(t)] * past_[static_cast<std::size_t>(i) * 2 + c];
            }
            peak = std::max(peak, std::abs(v));
        }
    return peak;
}

media::Samples Limiter::process(const media::Samples& in) {
    const std::size_t frames = in.size() / 2;
    for (float s : in) past_.push_back(static_cast<float>(s * gain_));
    media::Samples out(in.size());
    for (std::size_t i = 0; i < frames; ++i) {
        // The frame whose peak is known only now that half the interpolator's taps have come in.
        const std::size_t seen = i + static_cast<std::size_t>(kDelay) - kTaps / 2;
        const float peak = peak_at(seen);
        wanted_.push_back(peak > ceiling_ ? static_cast<float>(ceiling_) / peak : 1.0f);
        // Lowest over the window, then its mean over the window: never above what any frame asks.
        float low = 1.0f;
        for (std::size_t k = wanted_.size() - kWindow; k < wanted_.size(); ++k) low = std::min(low, wanted_[k]);
        lowest_.push_back(low);
        sum_ += low - lowest_[lowest_.size() - 1 - kLookahead];
        const float g = std::min(1.0f, static_cast<float>(sum_ / kLookahead));
        // The mean of the lowest over the window belongs to the frame a window ago.
        out[i * 2] = past_[i * 2] * g;
        out[i * 2 + 1] = past_[i * 2 + 1] * g;
    }
    past_.erase(past_.begin(), past_.begin() + static_cast<std::ptrdiff_t>(frames * 2));
    wanted_.erase(wanted_.begin(), wanted_.end() - kWindow);
    lowest_.erase(lowest_.begin(), lowest_.end() - kLookahead);
    return out;
}

}  // namespace canalogue::film
