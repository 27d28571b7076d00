#include "export/loudness.hpp"

#include <ebur128.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <deque>

namespace canalogue::film {

struct LoudnessMeter::State {
    explicit State(int mode) : meter(ebur128_init(media::kSoundChannels, media::kSoundRate, mode)) {}
    ebur128_state* meter;
    ~State() { ebur128_destroy(&meter); }
};

LoudnessMeter::LoudnessMeter(bool with_peak) : state_(std::make_unique<State>(EBUR128_MODE_I | (with_peak ? EBUR128_MODE_TRUE_PEAK : 0))) {}
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
    wanted_.assign(kWindow - 1, 1.0f);
    lowest_.assign(kLookahead, 1.0f);
    sum_ = kLookahead;
}

// The largest magnitudes between each frame from `first` on and the next one, of both channels. A row of sums for each tap, so
// that the compiler adds eight at a time: a film's sound goes through here several times.
std::vector<float> Limiter::peaks(std::size_t first, std::size_t count) const {
    static const auto phases = interpolator();
    std::vector<float> out(count, 0.0f), channel(count + kTaps - 1), sums(count);
    for (std::size_t c = 0; c < 2; ++c) {
        for (std::size_t i = 0; i < channel.size(); ++i) channel[i] = past_[(first - (kTaps / 2 - 1) + i) * 2 + c];
        for (const auto& phase : phases) {
            std::fill(sums.begin(), sums.end(), 0.0f);
            for (std::size_t t = 0; t < kTaps; ++t)
                for (std::size_t i = 0; i < count; ++i) sums[i] += phase[t] * channel[i + t];
            for (std::size_t i = 0; i < count; ++i) out[i] = std::max(out[i], std::abs(sums[i]));
        }
    }
    return out;
}

// Of each window of kWindow values the least; `values` begins with the kWindow - 1 before the first.
std::vector<float> Limiter::least_of_windows(const std::vector<float>& values) {
    std::vector<float> out;
    std::deque<std::size_t> rising;  // places of values that no later one is below
    for (std::size_t i = 0; i < values.size(); ++i) {
        while (!rising.empty() && values[rising.back()] >= values[i]) rising.pop_back();
        rising.push_back(i);
        if (rising.front() + kWindow <= i) rising.pop_front();
        if (i + 1 >= kWindow) out.push_back(values[rising.front()]);
    }
    return out;
}

media::Samples Limiter::process(const media::Samples& in) {
    const std::size_t frames = in.size() / 2;
    for (float s : in) past_.push_back(static_cast<float>(s * gain_));
    // The frames whose peaks are known only now that half the interpolator's taps have come in.
    for (const float peak : peaks(static_cast<std::size_t>(kDelay) - kTaps / 2, frames)) wanted_.push_back(peak > ceiling_ ? static_cast<float>(ceiling_) / peak : 1.0f);
    const auto lowest = least_of_windows(wanted_);
    lowest_.insert(lowest_.end(), lowest.begin(), lowest.end());
    media::Samples out(in.size());
    for (std::size_t i = 0; i < frames; ++i) {
        // Lowest over the window, then its mean over the window: never above what any frame asks. It belongs to the frame a window ago.
        sum_ += lowest_[i + kLookahead] - lowest_[i];
        const float g = std::min(1.0f, static_cast<float>(sum_ / kLookahead));
        out[i * 2] = past_[i * 2] * g;
        out[i * 2 + 1] = past_[i * 2 + 1] * g;
    }
    past_.erase(past_.begin(), past_.begin() + static_cast<std::ptrdiff_t>(frames * 2));
    wanted_.erase(wanted_.begin(), wanted_.end() - (kWindow - 1));
    lowest_.erase(lowest_.begin(), lowest_.end() - kLookahead);
    return out;
}

}  // namespace canalogue::film
