// A gauge cannot hurt either: a crash, a hang or nonsense is reported by its name, and its span is
// simply not measured.
#include "app/plugin_host/gauge_process.hpp"
#include "tests/plugin_host/ill/gauge_moods.hpp"
#include "tests/plugin_host/ill_plugins.hpp"

namespace canalogue::tests {

namespace {

using namespace std::chrono_literals;
using Catch::Matchers::Contains;

GaugeProcess started_gauge(const HostOptions& options = quick_options()) {
    auto process = GaugeProcess::start(ill_plugin("moody_gauge"), options);
    if (!process) FAIL(process.failure().sentence);
    REQUIRE(process->begin_recording(kFacts).ok());
    return std::move(*process);
}

// A span with one picture of that mood and a little sound.
Result<std::vector<Trace>> measure(GaugeProcess& gauge, GaugeMood mood, RecordingSpan span = kSpan) {
    if (auto begun = gauge.begin_span(span); !begun) return begun.failure();
    const auto rgb = picture(static_cast<std::uint8_t>(mood));
    if (auto shown = gauge.frame(span.start, rgb.data(), kPicture.w, kPicture.h, kPicture.w * 3); !shown)
        return shown.failure();
    if (auto heard = gauge.sound(span.start, {.1f, .75f, -.9f}); !heard) return heard.failure();
    return gauge.end_span();
}

}  // namespace

TEST_CASE("A gauge says what it measures, and its measurements arrive whole", "[plugin_host]") {
    auto gauge = started_gauge();
    CHECK(gauge.samples_per_second() == 0);
    CHECK(gauge.longest_side() == 64);
    CHECK(gauge.wants_frames());
    CHECK(gauge.wants_sound());
    REQUIRE(gauge.channels().size() == 2);
    CHECK(gauge.channels()[1] == Channel{"level", "Level", "dBFS", -60, 0, kSecond / 2});

    const RecordingSpan span{{kSecond}, {3 * kSecond + 100 * kMillisecond}};  // the last step is cut short
    const auto found = measure(gauge, GaugeMood::good, span);
    REQUIRE(found.ok());
    REQUIRE(found->size() == 2);
    const auto& brightness = found->at(0);
    CHECK(brightness.gauge == "moody_gauge");
    CHECK(brightness.version == "1");
    CHECK(brightness.from == span.start);
    REQUIRE(brightness.bytes.size() == 11);
    CHECK(*brightness.value(0) == Approx(128. / 255).margin(1. / 254));
    CHECK_FALSE(brightness.value(1));
    CHECK(found->at(1).bytes == std::vector<std::uint8_t>(5, Trace::byte_of(.75)));
}

TEST_CASE("A channel that a gauge leaves out is not measured", "[plugin_host]") {
    auto gauge = started_gauge();
    const auto found = measure(gauge, GaugeMood::one_channel);
    REQUIRE(found.ok());
    CHECK(found->at(1).bytes == std::vector<std::uint8_t>(4, Trace::kNotMeasured));
}

TEST_CASE("A gauge's nonsense is refused whole, named, and its span not measured", "[plugin_host]") {
    const auto mood = static_cast<GaugeMood>(GENERATE(range(static_cast<int>(GaugeMood::first_nonsense),
                                                            static_cast<int>(GaugeMood::last_nonsense) + 1)));
    CAPTURE(static_cast<int>(mood));
    auto gauge = started_gauge();
    const auto found = measure(gauge, mood);
    REQUIRE_FALSE(found.ok());
    CHECK_THAT(found.failure().sentence, Contains("The gauge 'Test gauge moody_gauge' answered nonsense") &&
                                             Contains("this span is not measured."));
    REQUIRE(gauge.restart().ok());
    CHECK(measure(gauge, GaugeMood::good).ok());
}

TEST_CASE("A gauge that crashes, hangs or gives up is named and can go on", "[plugin_host]") {
    auto options = quick_options();
    options.deadline = 300ms;
    auto gauge = started_gauge(options);
    const auto [mood, words] = GENERATE(table<GaugeMood, std::string>(
        {{GaugeMood::crash, "crashed; this span is not measured."},
         {GaugeMood::hang, "stopped answering after 300 ms; this span is not measured."},
         {GaugeMood::give_up, "gave up, so that this span is not measured: The lantern is out."}}));
    const auto found = measure(gauge, mood);
    REQUIRE_FALSE(found.ok());
    CHECK(found.failure().sentence == "The gauge 'Test gauge moody_gauge' " + words);
    if (!gauge.running()) REQUIRE(gauge.restart().ok());
    CHECK(measure(gauge, GaugeMood::good).ok());
}

TEST_CASE("A gauge's way of describing itself is checked, too", "[plugin_host]") {
    const auto twins = GaugeProcess::start(ill_plugin("twin_channels"), quick_options());
    REQUIRE_FALSE(twins.ok());
    CHECK_THAT(twins.failure().sentence, Contains("answered nonsense (two channels with one id)"));
    // A spotter that calls itself a gauge, and the other way round.
    auto posing = ill_plugin("moody");
    posing.provides = Provides::gauge;
    CHECK_THAT(GaugeProcess::start(posing, quick_options()).failure().sentence, Contains("It is not a gauge."));
    CHECK_THAT(SpotterProcess::start(ill_plugin("moody_gauge"), quick_options()).failure().sentence,
               Contains("is not a spotter"));
}

}  // namespace canalogue::tests
