// The film's sound: the original where it is let through, lowered under narration, without clicks.
#include <catch2/catch.hpp>

#include <cmath>

#include "tests/export/small_clip.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

const char* const kTone = "-f lavfi -i color=c=gray:s=320x180:r=25:d=10 -f lavfi -i sine=frequency=500:duration=10:sample_rate=48000 -c:v libx264 -preset ultrafast -c:a flac";

// The whole sound of the film, with one silent line of a second in the first item.
media::Samples sound_of(const TempFolder& folder, SmallClip& clip) {
    clip.lengths = {{kSecond}};
    std::get<Passage>(clip.plan.items[0]).narration = {"A silent line."};
    const Schedule laid = clip.schedule();
    auto narration = Narration::in(folder.path());
    REQUIRE(narration.ok());
    Spoken line;
    line.rate = 48000;
    line.samples.assign(48000, 0);
    REQUIRE(narration->add(line).ok());
    Sound sound(clip.plan, laid, *narration, clip.sources);
    REQUIRE_FALSE(sound.silent());
    REQUIRE(sound.level({}).ok());
    auto all = sound.next(sound.frames());
    REQUIRE(all.ok());
    return *all;
}

double level(const media::Samples& s, double from, double until) {
    double sum = 0;
    const auto a = static_cast<std::size_t>(from * 48000) * 2, b = std::min(s.size(), static_cast<std::size_t>(until * 48000) * 2);
    for (std::size_t i = a; i < b; ++i) sum += static_cast<double>(s[i]) * static_cast<double>(s[i]);
    return 10 * std::log10(sum / static_cast<double>(b - a) + 1e-12);
}

// The largest jump between neighbouring samples of the left channel, but for what a 500 Hz tone of that peak has.
double jump(const media::Samples& s) {
    double most = 0, peak = 0;
    for (std::size_t i = 2; i < s.size(); i += 2) most = std::max(most, std::abs(static_cast<double>(s[i] - s[i - 2]))), peak = std::max(peak, std::abs(static_cast<double>(s[i])));
    return most / (peak * 2 * M_PI * 500 / 48000);
}

}  // namespace

TEST_CASE("The original sound is heard where it is let through, 12 dB lower under narration, and nowhere else") {
    const TempFolder folder;
    SmallClip clip(folder, kTone);
    clip.passage(2, 9).heard = {span(2, 6)};
    const auto s = sound_of(folder, clip);
    const double full = level(s, 2, 3.8);
    CHECK(full > -40);
    CHECK(level(s, 0.5, 1.3) == Approx(full - 12).margin(0.5));  // the line is said from 0.4 to 1.4
    CHECK(level(s, 4.1, 6.9) < -100);
    CHECK(jump(s) < 1.1);  // no click
}

TEST_CASE("Where the original sound may not be heard, it is not: at another pace, under a cover") {
    const TempFolder folder;
    SmallClip clip(folder, kTone);
    clip.passage(2, 5).heard = {span(2, 5)};
    clip.passage(5, 9, 2).heard = {span(5, 9)};
    clip.sources[0].covers.hushed = {span(3, 4)};
    const auto s = sound_of(folder, clip);
    CHECK(level(s, 2.2, 2.9) > -40);
    CHECK(level(s, 1.1, 1.9) < -100);
    CHECK(level(s, 3.1, 4.9) < -100);
}
