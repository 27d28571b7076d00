// The gauges of sound: how loud it is, and how much of it is the steady hiss of suction.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include "plugins/sdk/plugin.hpp"

namespace {

constexpr std::int64_t kStep = 200'000'000, kSecond = 1'000'000'000;
constexpr double kQuietest = -60, kLoudest = 0;  // dBFS
constexpr std::int64_t kMostSteps = 200'000;
constexpr int kParts = 10;                         // of a step: what is steady is in most of them
constexpr int kSteady = 2;                         // the third softest of them tells
constexpr double kVowel = .04, kHiss = .09;        // crossings of zero for each sample: voices below, hiss above
constexpr std::ptrdiff_t kAround = 2;              // steps to each side that a hiss must fill more than half of: an "s" is short

double decibels(double mean_square) { return 10 * std::log10(mean_square + 1e-12); }
double on_scale(double level) { return std::clamp((level - kQuietest) / (kLoudest - kQuietest), 0., 1.); }

// A step's sound, in parts.
struct Step {
    std::array<double, kParts> energy{}, edges{};  // of the samples, and of the difference of neighbours
    std::array<int, kParts> count{};
    int crossings = 0, samples = 0;
};

double loudness(const Step& s) {
    double sum = 0;
    for (const double e : s.energy) sum += e;
    return on_scale(decibels(sum / s.samples));
}

// The level of what is steady in the upper part of the spectrum, as far as the step sounds like a hiss at all.
double hiss(const Step& s) {
    std::vector<double> levels;
    for (int i = 0; i < kParts; ++i)
        if (s.count[static_cast<std::size_t>(i)] > 0) levels.push_back(s.edges[static_cast<std::size_t>(i)] / s.count[static_cast<std::size_t>(i)]);
    std::sort(levels.begin(), levels.end());
    const double steady = levels[std::min<std::size_t>(kSteady, levels.size() - 1)];
    const double rate = static_cast<double>(s.crossings) / s.samples;
    return on_scale(decibels(steady)) * std::clamp((rate - kVowel) / (kHiss - kVowel), 0., 1.);
}

class Sound : public canalogue::plugin::Gauge {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_SOUND;
    static constexpr double samples_per_second = 0;
    static constexpr std::int32_t longest_side = 0;
    static constexpr canalogue_channel channels[] = {{"loudness", "Loudness", "dBFS", kQuietest, kLoudest, kStep},
                                                     {"suction", "Suction noise", "dBFS of steady hiss", kQuietest, kLoudest, kStep}};
    static std::string why_not(const std::string&) { return {}; }

    using Gauge::Gauge;

    void span_begin(std::int64_t start_ns, std::int64_t end_ns) override {
        start_ns_ = start_ns;
        const auto steps = std::clamp<std::int64_t>((end_ns - start_ns + kStep - 1) / kStep, 0, kMostSteps);
        steps_.assign(static_cast<std::size_t>(steps), {});
        before_ = 0;
    }

    void sound(const canalogue_sound& s) override {
        for (std::uint32_t i = 0; i < s.count; ++i) {
            const std::int64_t t = std::max<std::int64_t>(0, s.time_ns - start_ns_ + i * kSecond / CANALOGUE_SOUND_RATE);
            const auto step = static_cast<std::size_t>(t / kStep), part = static_cast<std::size_t>(t % kStep * kParts / kStep);
            if (step >= steps_.size()) return;
            Step& into = steps_[step];
            const double now = s.samples[i];
            into.energy[part] += now * now;
            into.edges[part] += (now - before_) * (now - before_);
            ++into.count[part], ++into.samples;
            into.crossings += (now < 0) != (before_ < 0);
            before_ = now;
        }
    }

    void span_end() override {
        std::vector<float> loud(steps_.size(), std::numeric_limits<float>::quiet_NaN()), hissing = loud, steady = loud;
        for (std::size_t i = 0; i < steps_.size(); ++i) {
            if (steps_[i].samples == 0) continue;
            loud[i] = static_cast<float>(loudness(steps_[i]));
            hissing[i] = static_cast<float>(hiss(steps_[i]));
        }
        for (std::size_t i = 0; i < steps_.size(); ++i)
            if (steps_[i].samples > 0) steady[i] = middle(hissing, static_cast<std::ptrdiff_t>(i));
        host().measure(0, loud);
        host().measure(1, steady);
    }

  private:
    // The median of a step and its neighbours in this span.
    static float middle(const std::vector<float>& of, std::ptrdiff_t i) {
        std::vector<float> near;
        for (auto k = std::max<std::ptrdiff_t>(0, i - kAround); k <= std::min(static_cast<std::ptrdiff_t>(of.size()) - 1, i + kAround); ++k)
            if (const float v = of[static_cast<std::size_t>(k)]; v == v) near.push_back(v);
        std::nth_element(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(near.size() / 2), near.end());
        return near[near.size() / 2];
    }

    std::int64_t start_ns_ = 0;
    double before_ = 0;  // the sample before
    std::vector<Step> steps_;
};

}  // namespace

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::gauge_plugin<Sound>();
    return &plugin;
}
