// A gauge whose mood hangs on the first pixel of the picture: the tests paint it.
#include <cmath>
#include <cstdlib>
#include <limits>
#include <stdexcept>
#include <thread>

#include "plugins/sdk/plugin.hpp"
#include "tests/plugin_host/ill/gauge_moods.hpp"

namespace {

using canalogue::tests::GaugeMood;

class MoodyGauge : public canalogue::plugin::Gauge {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FRAMES | CANALOGUE_WANTS_SOUND;
    static constexpr double samples_per_second = 0;
    static constexpr std::int32_t longest_side = 64;
#ifdef TWIN_CHANNELS
    static constexpr const char* second = "brightness";
#else
    static constexpr const char* second = "level";
#endif
    static constexpr canalogue_channel channels[] = {
        {"brightness", "Brightness", "dark .. bright", 0, 1, 200'000'000},
        {second, "Level", "dBFS", -60, 0, 500'000'000}};
    static std::string why_not(const std::string&) { return {}; }

    using Gauge::Gauge;

    void span_begin(std::int64_t start_ns, std::int64_t end_ns) override {
        length_ = end_ns - start_ns;
        loudest_ = 0;
    }

    void frame(const canalogue_frame& f) override {
        mood_ = static_cast<GaugeMood>(f.rgb[0]);
        if (mood_ == GaugeMood::crash) std::abort();
        if (mood_ == GaugeMood::hang) std::this_thread::sleep_for(std::chrono::hours(1));
        if (mood_ == GaugeMood::give_up) throw std::runtime_error("The lantern is out.");
        last_ = f.rgb[static_cast<std::ptrdiff_t>(f.stride) * f.height - 1];
    }

    void sound(const canalogue_sound& s) override {
        for (std::uint32_t i = 0; i < s.count; ++i) loudest_ = std::max(loudest_, s.samples[i]);
    }

    void span_end() override {
        std::vector<float> brightness(steps(200'000'000), static_cast<float>(last_) / 255);
        brightness[1] = std::numeric_limits<float>::quiet_NaN();
        std::vector<float> level(steps(500'000'000), loudest_);
        std::size_t channel = 0;
        if (mood_ == GaugeMood::too_few) brightness.pop_back();
        if (mood_ == GaugeMood::too_many) brightness.resize(100'000);
        if (mood_ == GaugeMood::countless) brightness.resize(4'000'000);
        if (mood_ == GaugeMood::above_one) brightness[0] = 1.01f;
        if (mood_ == GaugeMood::below_zero) brightness[0] = -.01f;
        if (mood_ == GaugeMood::infinite) brightness[0] = std::numeric_limits<float>::infinity();
        if (mood_ == GaugeMood::unknown_channel) channel = 2;
        if (mood_ == GaugeMood::twice) host().measure(channel, brightness);
        if (mood_ == GaugeMood::no_end_of_channels)
            for (int i = 0; i < 100'000; ++i) host().measure(channel, brightness);
        host().measure(channel, brightness);
        if (mood_ != GaugeMood::one_channel) host().measure(1, level);
    }

  private:
    std::size_t steps(std::int64_t step) const { return static_cast<std::size_t>((length_ + step - 1) / step); }

    std::int64_t length_ = 0;
    int last_ = 0;
    float loudest_ = 0;
    GaugeMood mood_ = GaugeMood::good;
};

}  // namespace

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::gauge_plugin<MoodyGauge>();
    return &plugin;
}
