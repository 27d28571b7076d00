// The spotter for voices: everything that is said is a suspect.
#include "plugins/sdk/plugin.hpp"
#include "plugins/speech/utterances.hpp"
#include "plugins/speech/voice_net.hpp"

namespace canalogue::speech {

namespace {

constexpr std::int64_t kStepNs = std::int64_t{1'000'000'000} * kStep / kNetRate;

class Speech : public plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_SOUND;
    static constexpr double samples_per_second = 1;  // no frames are asked for
    static std::string why_not(const std::string& models_dir) { return nets::why_no_nets(models_dir, {VoiceNet::kFile}); }

    explicit Speech(plugin::Host h) : Spotter(h), net_(h.models_dir()) {}

    void span_begin(std::int64_t start_ns, std::int64_t end_ns) override {
        start_ns_ = start_ns;
        end_ns_ = end_ns;
        heard_.clear();
    }

    void sound(const canalogue_sound& s) override { heard_.insert(heard_.end(), s.samples, s.samples + s.count); }

    void span_end() override {
        const auto steps = likelihoods(net_, at_net_rate(heard_));
        for (const auto& u : utterances(steps, kStepNs, start_ns_, end_ns_)) {
            plugin::Proposal p;
            p.kind = CANALOGUE_SPEECH;
            p.start_ns = u.start_ns;
            p.end_ns = u.end_ns;
            p.sureness = std::min(1.f, std::max(0.f, u.likeliest));
            host().propose(p);
        }
    }

  private:
    VoiceNet net_;
    std::int64_t start_ns_ = 0, end_ns_ = 0;
    std::vector<float> heard_;  // 48,000 a second
};

}  // namespace

}  // namespace canalogue::speech

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::spotter_plugin<canalogue::speech::Speech>();
    return &plugin;
}
