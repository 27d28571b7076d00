// Suction told from voices by the gauge of sound.
#include "app/core/trace.hpp"
#include "app/media/sound_reader.hpp"
#include "app/plugin_host/gauge_process.hpp"
#include "tests/plugins/shipped_plugins.hpp"
#include "tests/support/media_files.hpp"

namespace canalogue::tests {

namespace {

constexpr const char* kRead = "/usr/share/pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0870.wav";
// Suction as it is drawn for labelled sessions: hiss without its top, and a hum.
constexpr const char* kSuction = "-f lavfi -i \"anoisesrc=r=48000:a=0.2:c=pink:seed=3:d=6,highpass=f=300,lowpass=f=9000\"";

// The mean of a channel over a file's first six seconds, 0..1.
double mean_of(const test::fs::path& file, const std::string& channel) {
    auto gauge = GaugeProcess::start(shipped_plugin("sound_gauge"), with_models());
    REQUIRE(gauge.ok());
    const RecordingSpan span{{0}, {6 * kSecond}};
    REQUIRE(gauge->begin_recording({{}, span.length()}).ok());
    REQUIRE(gauge->begin_span(span).ok());
    const auto sound = media::read_sound(file, 0, span, {}, {});
    REQUIRE(sound.ok());
    for (int s = 0; s < 6; ++s) {
        const std::size_t from = static_cast<std::size_t>(s) * media::kSoundRate;
        REQUIRE(gauge->sound({s * kSecond}, media::as_mono(*sound, from, media::kSoundRate)).ok());
    }
    const auto traces = gauge->end_span();
    REQUIRE(traces.ok());
    for (const auto& t : *traces)
        if (t.channel == channel) {
            double sum = 0;
            for (std::size_t i = 0; i < t.bytes.size(); ++i) sum += t.value(i).value_or(0);
            return sum / static_cast<double>(t.bytes.size());
        }
    FAIL("the channel was not measured");
    return 0;
}

}  // namespace

// Source of the voice: a LibriVox recording in Debian's package pocketsphinx-testdata.
TEST_CASE("Suction noise is told from a voice, a hum and silence, also with a voice over it") {
    const test::TempFolder folder;
    const double suction = mean_of(test::make_media(folder / "suction.wav", std::string(kSuction) + " -t 6"), "suction");
    const double softer = mean_of(test::make_media(folder / "soft.wav", std::string(kSuction) + " -af volume=0.25 -t 6"), "suction");
    const double hum = mean_of(test::make_media(folder / "hum.wav", "-f lavfi -i \"sine=f=120:r=48000:d=6\""), "suction");
    const double silence = mean_of(test::make_media(folder / "silence.wav", "-f lavfi -i \"aevalsrc=0:s=48000:d=6\""), "suction");
    CAPTURE(suction, softer, hum, silence);
    CHECK(suction > .3);
    CHECK(suction - softer == Approx(12. / 60).margin(.03));  // a quarter of the amplitude is 12 dB
    CHECK(hum < .02);
    CHECK(silence < .02);
    if (!test::fs::exists(kRead)) {
        WARN("pocketsphinx-testdata is not installed: a real voice was NOT tested");
        return;
    }
    const double voice = mean_of(test::make_media(folder / "voice.wav", "-i " + std::string(kRead) + " -ar 48000 -t 6"), "suction");
    const double both = mean_of(test::make_media(folder / "both.wav", "-i " + std::string(kRead) + " " + kSuction + " -filter_complex \"[0]aresample=48000[v];[v][1]amix=2:normalize=0\" -t 6"), "suction");
    CAPTURE(voice, both);
    CHECK(voice < .12);
    CHECK(both > .25);
    CHECK(mean_of(folder / "voice.wav", "loudness") > .4);
}

}  // namespace canalogue::tests
