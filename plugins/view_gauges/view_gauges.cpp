// The gauge of the view: each picture is measured by itself (motion: against the one before it in its
// span), so that no span hangs on another.
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "plugins/sdk/plugin.hpp"
#include "plugins/view_gauges/clarity.hpp"
#include "plugins/shared/inside.hpp"
#include "plugins/shared/view_features.hpp"

namespace canalogue::view_gauges {

namespace {

constexpr std::int64_t kStep = 200'000'000;
constexpr float kNone = std::numeric_limits<float>::quiet_NaN();
constexpr double kMostContrast = .3, kMostMotion = .5;
constexpr std::int64_t kMostSteps = 200'000;

enum Channel : std::size_t { kClarity, kContrast, kInside, kMotion, kChannels };

class ViewGauges : public plugin::Gauge {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FRAMES;
    static constexpr double samples_per_second = 5;
    static constexpr std::int32_t longest_side = 480;
    static constexpr canalogue_channel channels[kChannels] = {
        {"clarity", "Clarity of view", "share of the view with fine detail", 0, 1, kStep},
        {"contrast", "Local contrast", "share of the brightness", 0, kMostContrast, kStep},
        {"inside", "Inside the ear", "outside or unsure .. inside", 0, 1, kStep},
        {"motion", "Motion", "shift as a share of the picture, plus change", 0, kMostMotion, kStep}};
    static std::string why_not(const std::string&) { return {}; }

    explicit ViewGauges(plugin::Host h) : Gauge(h) {
        cv::setNumThreads(1);  // small pictures: threads would only cost
        if (nets::why_no_nets(h.models_dir(), view::Inside::files()).empty()) inside_.emplace(h.models_dir());
    }

    void span_begin(std::int64_t start_ns, std::int64_t end_ns) override {
        start_ns_ = start_ns;
        const auto steps = std::clamp<std::int64_t>((end_ns - start_ns + kStep - 1) / kStep, 0, kMostSteps);
        for (auto& values : values_) values.assign(static_cast<std::size_t>(steps), kNone);
        before_.reset();
    }

    void frame(const canalogue_frame& f) override {
        const auto step = static_cast<std::size_t>(std::max<std::int64_t>(0, f.time_ns - start_ns_) / kStep);
        if (step >= values_[0].size()) return;
        const cv::Mat rgb(f.height, f.width, CV_8UC3, const_cast<std::uint8_t*>(f.rgb), static_cast<std::size_t>(f.stride));
        const view::SmallView seen = view::small_view(rgb);
        put(kClarity, step, clarity(rgb));
        if (seen.bright_share > 0) put(kContrast, step, view::local_contrast(seen) / kMostContrast);
        if (inside_) put(kInside, step, inside_->of(rgb));
        if (before_) put(kMotion, step, view::motion(*before_, seen) / kMostMotion);
        before_ = seen;
    }

    void span_end() override {
        for (std::size_t c = 0; c < kChannels; ++c) host().measure(c, values_[c]);
    }

  private:
    void put(Channel channel, std::size_t step, double value) {
        values_[channel][step] = std::isfinite(value) ? static_cast<float>(std::clamp(value, 0., 1.)) : kNone;
    }

    std::int64_t start_ns_ = 0;
    std::vector<float> values_[kChannels];
    std::optional<view::SmallView> before_;
    std::optional<view::Inside> inside_;  // none without the models: then it is not measured
};

}  // namespace

}  // namespace canalogue::view_gauges

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::gauge_plugin<canalogue::view_gauges::ViewGauges>();
    return &plugin;
}
