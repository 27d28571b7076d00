// The gauge of loudness: the root mean square of each step, in dB of full scale.
#include <algorithm>
#include <cmath>
#include <limits>

#include "plugins/sdk/plugin.hpp"

namespace {

constexpr std::int64_t kStep = 200'000'000, kSecond = 1'000'000'000;
constexpr double kQuietest = -60, kLoudest = 0;  // dBFS
constexpr std::int64_t kMostSteps = 200'000;

class Loudness : public canalogue::plugin::Gauge {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_SOUND;
    static constexpr double samples_per_second = 0;
    static constexpr std::int32_t longest_side = 0;
    static constexpr canalogue_channel channels[] = {{"loudness", "Loudness", "dBFS", kQuietest, kLoudest, kStep}};
    static std::string why_not(const std::string&) { return {}; }

    using Gauge::Gauge;

    void span_begin(std::int64_t start_ns, std::int64_t end_ns) override {
        start_ns_ = start_ns;
        const auto steps = std::clamp<std::int64_t>((end_ns - start_ns + kStep - 1) / kStep, 0, kMostSteps);
        energy_.assign(static_cast<std::size_t>(steps), 0);
        count_.assign(energy_.size(), 0);
    }

    void sound(const canalogue_sound& s) override {
        for (std::uint32_t i = 0; i < s.count; ++i) {
            const std::int64_t t = s.time_ns - start_ns_ + i * kSecond / CANALOGUE_SOUND_RATE;
            const auto step = static_cast<std::size_t>(std::max<std::int64_t>(0, t) / kStep);
            if (step >= energy_.size()) return;
            energy_[step] += static_cast<double>(s.samples[i]) * s.samples[i];
            ++count_[step];
        }
    }

    void span_end() override {
        std::vector<float> values(energy_.size(), std::numeric_limits<float>::quiet_NaN());
        for (std::size_t i = 0; i < values.size(); ++i) {
            if (count_[i] == 0) continue;
            const double level = 10 * std::log10(energy_[i] / count_[i] + 1e-12);
            values[i] = static_cast<float>(std::clamp((level - kQuietest) / (kLoudest - kQuietest), 0., 1.));
        }
        host().measure(0, values);
    }

  private:
    std::int64_t start_ns_ = 0;
    std::vector<double> energy_;
    std::vector<int> count_;
};

}  // namespace

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::gauge_plugin<Loudness>();
    return &plugin;
}
