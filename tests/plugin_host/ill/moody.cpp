// A spotter whose mood hangs on the first pixel of the picture: the tests paint it.
#include <cmath>
#include <cstdlib>
#include <limits>
#include <stdexcept>
#include <string>
#include <thread>

#include "plugins/sdk/plugin.hpp"
#include "tests/plugin_host/ill/moods.hpp"

namespace {

using canalogue::plugin::Proposal;
using canalogue::tests::Mood;

class Moody : public canalogue::plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FRAMES | CANALOGUE_WANTS_FIELDS;
    static constexpr double samples_per_second = 4;
    static std::string why_not(const std::string&) { return {}; }

    using Spotter::Spotter;

    void begin_recording(const canalogue_facts& facts) override { facts_ = facts; }

    void span_begin(std::int64_t start_ns, std::int64_t end_ns) override {
        start_ = start_ns;
        end_ = end_ns;
    }

    void frame(const canalogue_frame& f) override {
        mood_ = static_cast<Mood>(f.rgb[0]);
        if (mood_ == Mood::crash) std::abort();
        if (mood_ == Mood::hang) std::this_thread::sleep_for(std::chrono::hours(1));
        if (mood_ == Mood::give_up) throw std::runtime_error("The lantern is out.");
        if (mood_ == Mood::chatter) chatter();
        if (mood_ != Mood::good) return;
        // The last pixel tells whether the whole picture arrived.
        auto p = sound(f.time_ns);
        p.words = std::to_string(f.rgb[static_cast<std::ptrdiff_t>(f.stride) * f.height - 1]);
        host().propose(p);
    }

    void span_end() override {
        if (mood_ == Mood::hang_at_end) std::this_thread::sleep_for(std::chrono::hours(1));
        if (mood_ == Mood::crash_at_end) std::abort();
        if (mood_ == Mood::countless)
            for (int i = 0; i < 100'000; ++i) host().propose(sound(start_));
        if (mood_ >= Mood::first_nonsense) host().propose(nonsense());
    }

    void fields(std::span<const canalogue_field> fields) override {
        for (const auto& [name, value] : fields) {
            Proposal p;
            p.kind = CANALOGUE_METADATA;
            p.sureness = 1;
            p.field = name;
            p.words = value;
            host().propose(p);
        }
    }

  private:
    Proposal sound(std::int64_t t) const {
        Proposal p;
        p.sureness = .5;
        p.start_ns = start_;
        p.end_ns = end_;
        p.track = {{t, 10, 20, 30.5, 12}};
        return p;
    }

    // Sound but for one thing.
    Proposal nonsense() const {
        auto p = sound(start_);
        auto& at = p.track[0];
        switch (mood_) {
            case Mood::nan_box:
                at.w = std::numeric_limits<double>::quiet_NaN();
                break;
            case Mood::box_outside:
                at.x = facts_.width - 10;
                break;
            case Mood::empty_box:
                at.h = 0;
                break;
            case Mood::huge_box:
                at.w = 1e300;
                break;
            case Mood::end_before_start:
                p.end_ns = p.start_ns - 1;
                break;
            case Mood::after_the_recording:
                p.end_ns = facts_.duration_ns + 1'000'000'000;
                break;
            case Mood::nan_sureness:
                p.sureness = std::nan("");
                break;
            case Mood::oversure:
                p.sureness = 1.5;
                break;
            case Mood::unknown_kind:
                p.kind = 77;
                break;
            case Mood::no_place:
                p.track.clear();
                break;
            case Mood::backwards:
                p.track.push_back({at.time_ns - 1, 10, 20, 30, 12});
                break;
            case Mood::endless_words:
                p.words.assign(1 << 20, 'a');
                break;
            case Mood::not_utf8:
                p.words = "\xC3(";
                break;
            case Mood::crowded_track:
                p.track.resize(CANALOGUE_MOST_TRACK_POINTS + 1, at);
                break;
            default:
                break;
        }
        return p;
    }

    static void chatter() {
        std::puts("TEST-0000001");
        std::fflush(stdout);
        std::fputs("TEST-0000001\n", stderr);
    }

    canalogue_facts facts_{};
    std::int64_t start_ = 0, end_ = 0;
    Mood mood_ = Mood::good;
};

}  // namespace

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::spotter_plugin<Moody>();
    return &plugin;
}
