#include "export/take_sound.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

using namespace canalogue;
using namespace canalogue::film;

namespace {

constexpr int kRate = media::kSoundRate;

// Noise of a room at `room` (of full scale), and a voice-like tone at `voice` in the given spans (seconds).
std::vector<std::int16_t> recorded(double seconds, double room, double voice, const std::vector<std::pair<double, double>>& spans) {
    std::mt19937 random(7);
    std::normal_distribution<double> noise(0, room);
    std::vector<std::int16_t> out;
    for (int i = 0; i < static_cast<int>(seconds * kRate); ++i) {
        const double t = static_cast<double>(i) / kRate;
        double v = noise(random);
        for (const auto& [from, until] : spans)
            if (t >= from && t < until) v += voice * std::sin(2 * M_PI * 180 * t) * (0.6 + 0.4 * std::sin(2 * M_PI * 4 * t));
        out.push_back(static_cast<std::int16_t>(std::lround(std::clamp(v, -1.0, 1.0) * 32767)));
    }
    return out;
}

double seconds(const std::vector<std::int16_t>& s) { return static_cast<double>(s.size()) / kRate; }

}  // namespace

TEST_CASE("Silence is taken off the ends of a take and nothing off the words, in a quiet room and in a noisy one") {
    const double room = GENERATE(0.0, 0.0005, 0.01);
    CAPTURE(room);
    const auto trimmed = without_silent_ends(recorded(6, room, 0.25, {{2, 3}, {3.6, 4.2}}));
    REQUIRE(trimmed.ok());
    CHECK(seconds(*trimmed) == Approx(2.2 + 0.16 + 0.3).margin(0.06));  // a little is left on each side
}

TEST_CASE("A take in which nobody speaks is refused") {
    CHECK_FALSE(without_silent_ends({}).ok());
    CHECK_FALSE(without_silent_ends(recorded(2, 0, 0, {})).ok());
    CHECK_FALSE(without_silent_ends(recorded(2, 0.0003, 0, {})).ok());
}

TEST_CASE("A faint take and a loud one come out equally loud, without clipping") {
    const auto level = [](const Spoken& s) {
        double sum = 0;
        for (const auto v : s.samples) sum += static_cast<double>(v) * v;
        return 10 * std::log10(sum / static_cast<double>(s.samples.size()) / (32768.0 * 32768.0));
    };
    const auto faint = as_spoken(recorded(3, 0.0001, 0.02, {{0, 3}}), "The canal is clear."), loud = as_spoken(recorded(3, 0.0001, 0.8, {{0, 3}}), "The canal is clear.");
    CHECK(level(faint) == Approx(level(loud)).margin(0.3));
    CHECK(*std::max_element(faint.samples.begin(), faint.samples.end()) < 32000);
}

TEST_CASE("The words of a take are placed in order, inside the speech, not in its pauses") {
    const auto said = as_spoken(recorded(4, 0.0005, 0.3, {{0.5, 1.5}, {2.5, 3.5}}), "First part spoken, second part spoken.");
    REQUIRE(said.words.size() == 6);
    for (std::size_t i = 0; i < 6; ++i) {
        const double t = static_cast<double>(said.words[i].time) / kSecond;
        CHECK(((t >= 0.45 && t <= 1.55) || (t >= 2.45 && t <= 3.5)));
        if (i) CHECK(said.words[i].time > said.words[i - 1].time);
    }
    CHECK(said.words[3].time >= nanos_from_seconds(1.4));
}

TEST_CASE("The noise of a room is lowered in the pauses of a take, and the voice is left as loud as it was") {
    const auto take = recorded(6, 0.01, 0.25, {{1.5, 3}, {4, 5.5}});
    const auto said = as_spoken(take, "First part, second part.");
    REQUIRE(said.samples.size() == take.size());
    const auto level = [](const std::vector<std::int16_t>& s, double from, double until) {
        double sum = 0;
        const auto a = static_cast<std::size_t>(from * kRate), b = static_cast<std::size_t>(until * kRate);
        for (std::size_t i = a; i < b; ++i) sum += static_cast<double>(s[i]) * s[i];
        return 10 * std::log10(sum / static_cast<double>(b - a) / (32768.0 * 32768.0));
    };
    // Between the voice and the pauses, at the end, when the noise has been learnt.
    const double before = level(take, 4.2, 5.4) - level(take, 3.2, 3.9), after = level(said.samples, 4.2, 5.4) - level(said.samples, 3.2, 3.9);
    CHECK(after > before + 5);
}
