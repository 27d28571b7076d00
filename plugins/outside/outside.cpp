// The spotter for the scope's time outside the ear: everything may be in view there, so the whole picture is
// the suspect.
#include <algorithm>

#include "plugins/outside/stays.hpp"
#include "plugins/sdk/plugin.hpp"
#include "plugins/shared/inside.hpp"

namespace canalogue::outside {

namespace {

class Outside : public plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FRAMES;
    static constexpr double samples_per_second = 5;
    static constexpr std::int32_t longest_side = 480;
    static std::string why_not(const std::string& models_dir) { return nets::why_no_nets(models_dir, view::Inside::files()); }

    explicit Outside(plugin::Host h) : Spotter(h), inside_(h.models_dir()) {
        cv::setNumThreads(1);  // small pictures: threads would only cost
    }

    void begin_recording(const canalogue_facts& facts) override {
        duration_ = facts.duration_ns;
        const bool marks = facts.size >= sizeof(canalogue_facts);  // an older host knows of none
        inside_reads_ = marks ? facts.marked_inside_reads : 0;
        outside_reads_ = marks ? facts.marked_outside_reads : 0;
    }

    void span_begin(std::int64_t, std::int64_t end_ns) override {
        end_ns_ = end_ns;
        looks_.clear();
    }

    void frame(const canalogue_frame& f) override {
        const cv::Mat rgb(f.height, f.width, CV_8UC3, const_cast<std::uint8_t*>(f.rgb), static_cast<std::size_t>(f.stride));
        looks_.push_back({f.time_ns, inside_.of(rgb)});
    }

    void span_end() override {
        for (const auto& stay : stays_outside(set_right(looks_, inside_reads_, outside_reads_), end_ns_)) {
            plugin::Proposal p;
            p.kind = CANALOGUE_OUTSIDE;
            p.start_ns = std::max<std::int64_t>(0, stay.start_ns);
            p.end_ns = std::min(std::max(duration_, end_ns_), stay.end_ns);
            p.sureness = stay.sureness;
            host().propose(p);
        }
    }

  private:
    view::Inside inside_;
    std::int64_t end_ns_ = 0, duration_ = 0;
    double inside_reads_ = 0, outside_reads_ = 0;
    std::vector<Look> looks_;
};

}  // namespace

}  // namespace canalogue::outside

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::spotter_plugin<canalogue::outside::Outside>();
    return &plugin;
}
