#include "plugins/speech/utterances.hpp"

#include <cmath>
#include <filesystem>

#include "app/media/sound_reader.hpp"
#include "tests/plugins/shipped_plugins.hpp"

namespace canalogue::tests {

namespace {

namespace fs = std::filesystem;
using speech::utterances;

constexpr std::int64_t kStep = 32'000'000;

// Real people who read aloud: LibriVox clips in Debian's pocketsphinx-testdata.
std::vector<fs::path> read_aloud() {
    std::vector<fs::path> out;
    std::error_code none;
    for (const auto& entry : fs::directory_iterator("/usr/share/pocketsphinx/test/data/librivox", none))
        if (entry.path().extension() == ".wav") out.push_back(entry.path());
    std::sort(out.begin(), out.end());
    return out;
}

std::vector<Proposal> listened(const std::vector<float>& samples) {
    auto started = SpotterProcess::start(shipped_plugin("speech"), with_models());
    REQUIRE(started.ok());
    const RecordingSpan span{{0}, {static_cast<Nanos>(samples.size()) * kSecond / media::kSoundRate}};
    REQUIRE(started->begin_recording({{}, span.length()}).ok());
    REQUIRE(started->begin_span(span).ok());
    for (std::size_t at = 0; at < samples.size(); at += media::kSoundRate) {
        const std::size_t n = std::min<std::size_t>(media::kSoundRate, samples.size() - at);
        REQUIRE(started->sound({static_cast<Nanos>(at) * kSecond / media::kSoundRate}, std::vector<float>(samples.begin() + static_cast<std::ptrdiff_t>(at), samples.begin() + static_cast<std::ptrdiff_t>(at + n))).ok());
    }
    auto found = started->end_span();
    REQUIRE(found.ok());
    return std::move(*found);
}

double share_found(const std::vector<Proposal>& found, RecordingSpan span) {
    std::vector<RecordingSpan> spans;
    for (const auto& p : found) spans.push_back(p.span);
    Nanos missed = 0;
    for (const auto& gap : gaps_in(span, spans)) missed += gap.length();
    return 1 - static_cast<double>(missed) / static_cast<double>(span.length());
}

}  // namespace

TEST_CASE("Short pauses belong to what is said, and words are widened by their soft ends") {
    std::vector<float> steps(200, 0.f);
    for (std::size_t i : {50, 51, 52, 60, 61, 100}) steps[i] = .9f;
    const auto said = utterances(steps, kStep, 0, 200 * kStep);
    REQUIRE(said.size() == 2);
    CHECK(said[0].start_ns == 50 * kStep - 300'000'000);
    CHECK(said[0].end_ns == 62 * kStep + 300'000'000);
    CHECK(said[0].likeliest == .9f);
}

TEST_CASE("What is said near the end of a span reaches to it: the word may go on beyond") {
    std::vector<float> steps(100, 0.f);
    steps[10] = steps[90] = .5f;
    const auto said = utterances(steps, kStep, 1'000, 1'000 + 100 * kStep);
    REQUIRE(said.size() == 2);
    CHECK(said[0].start_ns == 1'000);
    CHECK(said[1].end_ns == 1'000 + 100 * kStep);
    CHECK(utterances(std::vector<float>(100, .29f), kStep, 0, 100 * kStep).empty());
}

// Source: LibriVox recordings in Debian's package pocketsphinx-testdata; suction drawn as hiss and hum.
TEST_CASE("People who read aloud are heard, also under suction as loud as they are") {
    if (models_missing("speech was")) return;
    const auto files = read_aloud();
    if (files.empty()) {
        WARN("pocketsphinx-testdata is not installed: real speech was NOT tested");
        return;
    }
    for (const double noise : {0.0, 1.0}) {
        double kept = 0, all = 0;
        for (const auto& file : files) {
            auto length = media::sound_length(file);
            REQUIRE(length.ok());
            const RecordingSpan span{{0}, {std::min<Nanos>(*length, 10 * kSecond)}};
            auto both = media::read_sound(file, 0, span, {}, {});
            REQUIRE(both.ok());
            std::vector<float> mono;
            double power = 0;
            for (std::size_t i = 0; i + 1 < both->size(); i += 2) mono.push_back(.70710678f * ((*both)[i] + (*both)[i + 1]));
            for (const float x : mono) power += static_cast<double>(x) * x;
            const double loud = std::sqrt(power / static_cast<double>(mono.size()));
            std::uint32_t chance = 1;
            for (std::size_t i = 0; i < mono.size(); ++i) {
                chance = chance * 1664525u + 1013904223u;
                const double hiss = (static_cast<double>(chance >> 8) / (1 << 24) - .5) * std::sqrt(12.0), hum = std::sin(2 * 3.14159265358979 * 120 * static_cast<double>(i) / media::kSoundRate);
                mono[i] += static_cast<float>(noise * loud * (.9 * hiss + .6 * hum));
            }
            // Nobody speaks in the first and last tenths of these clips.
            const RecordingSpan read{{span.start.ns + 3 * kSecond / 10}, {span.end.ns - 3 * kSecond / 10}};
            kept += share_found(listened(mono), read) * static_cast<double>(read.length());
            all += static_cast<double>(read.length());
        }
        INFO("noise " << noise << ", kept " << kept / all);
        CHECK(kept / all >= (noise > 0 ? .9 : .97));
    }
}

TEST_CASE("Suction alone is not taken for somebody who speaks all the time") {
    if (models_missing("speech was")) return;
    std::vector<float> hiss;
    std::uint32_t chance = 7;
    for (int i = 0; i < 10 * media::kSoundRate; ++i) {
        chance = chance * 1664525u + 1013904223u;
        hiss.push_back(.1f * (static_cast<float>(chance >> 8) / (1 << 24) - .5f) + .03f * std::sin(2 * 3.14159265f * 120 * static_cast<float>(i) / media::kSoundRate));
    }
    CHECK(share_found(listened(hiss), {{0}, {10 * kSecond}}) < .2);
}

}  // namespace canalogue::tests
