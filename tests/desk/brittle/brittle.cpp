// A spotter in the place of the one for the outside. Every second stretch that one process of it is offered breaks it.
#include <cstdlib>

#include "plugins/sdk/plugin.hpp"

namespace {

class Brittle : public canalogue::plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FRAMES;
    static constexpr double samples_per_second = 4;
    static constexpr std::int32_t longest_side = 64;
    static std::string why_not(const std::string&) { return {}; }

    using Spotter::Spotter;

    void span_begin(std::int64_t start_ns, std::int64_t) override {
        start_ = start_ns;
        frames_ = 0;
        ++stretches_;
    }
    void frame(const canalogue_frame&) override {
        if (stretches_ == 2 && ++frames_ == 20) std::abort();
    }
    void span_end() override {
        canalogue::plugin::Proposal p;
        p.kind = CANALOGUE_OUTSIDE;
        p.start_ns = start_ + 4'000'000'000, p.end_ns = start_ + 5'000'000'000;
        p.sureness = .5;
        host().propose(p);
    }

  private:
    std::int64_t start_ = 0;
    int stretches_ = 0, frames_ = 0;
};

}  // namespace

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::spotter_plugin<Brittle>();
    return &plugin;
}
