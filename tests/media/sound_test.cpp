#include <catch2/catch.hpp>

#include <cmath>

#include "app/media/sound_reader.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::media;
using namespace canalogue::test;

namespace {
RecordingSpan seconds(double a, double b) { return {{nanos_from_seconds(a)}, {nanos_from_seconds(b)}}; }

double loudest(const Samples& s, double from, double until) {
    float peak = 0;
    for (auto i = static_cast<std::size_t>(from * kSoundRate); i < static_cast<std::size_t>(until * kSoundRate); ++i)
        peak = std::max({peak, std::abs(s[i * 2]), std::abs(s[i * 2 + 1])});
    return peak;
}
}  // namespace

TEST_CASE("Sound is read at the right time from mono 8 kHz to 5.1") {
    TempFolder folder;
    // A click at 1.500 s of a 3 s film.
    const std::string click = "-f lavfi -i \"aevalsrc='if(between(t,1.5,1.51),0.8*sin(2*PI*800*t),0)':d=3";
    const std::string film = " -f lavfi -i testsrc2=size=64x48:rate=25:duration=3 ";
    const std::vector<std::pair<std::string, std::string>> kinds{
        {"mono.avi", click + ":s=8000\"" + film + "-ac 1 -ar 8000 -c:a pcm_s16le -c:v mpeg4"},
        {"stereo.mp4", click + ":s=44100\"" + film + "-ac 2 -c:a aac -c:v libx264 -preset ultrafast"},
        {"surround.mkv", click + ":s=48000\"" + film + "-ac 6 -c:a flac -c:v ffv1"},
    };
    for (const auto& [name, args] : kinds) {
        CAPTURE(name);
        const auto path = make_media(folder / name, args);
        auto sound = read_sound(path, 0, seconds(1, 2), {}, {});
        REQUIRE(sound.ok());
        REQUIRE(sound->size() == kSoundRate * 2);
        CHECK(loudest(*sound, 0.0, 0.46) < 0.05);
        CHECK(loudest(*sound, 0.49, 0.52) > 0.2);
        CHECK(loudest(*sound, 0.56, 1.0) < 0.05);
    }
}

TEST_CASE("Hushed samples have no influence: two recordings that differ only there give the same sound") {
    TempFolder folder;
    auto film = [&](const std::string& name, const std::string& secret) {
        return make_media(folder / name, "-f lavfi -i \"aevalsrc='0.3*sin(2*PI*300*t)+if(between(t,1.1,1.9)," + secret +
                                             ",0)':d=3:s=44100\" -f lavfi -i testsrc2=size=64x48:rate=25:duration=3 -c:a flac -c:v ffv1");
    };
    const auto a = film("a.mkv", "0.5*sin(2*PI*900*t)"), b = film("b.mkv", "0.1*sin(2*PI*1700*t)");
    const std::vector<RecordingSpan> hush{seconds(1, 2)};
    auto sa = read_sound(a, 0, seconds(0, 3), hush, {}), sb = read_sound(b, 0, seconds(0, 3), hush, {});
    REQUIRE(sa.ok());
    REQUIRE(sb.ok());
    CHECK(*sa == *sb);
    CHECK(loudest(*sa, 1.05, 1.95) == 0);
    CHECK(loudest(*sa, 0.2, 0.8) > 0.15);
    // And without the hush they do differ, so the comparison can fail.
    auto ra = read_sound(a, 0, seconds(0, 3), {}, {}), rb = read_sound(b, 0, seconds(0, 3), {}, {});
    CHECK_FALSE(*ra == *rb);
}

TEST_CASE("A recording without sound reads as silence") {
    TempFolder folder;
    const auto path = make_media(folder / "mute.mkv", "-f lavfi -i testsrc2=size=64x48:rate=25:duration=1 -c:v ffv1");
    auto sound = read_sound(path, 0, seconds(0, 1), {}, {});
    REQUIRE(sound.ok());
    CHECK(loudest(*sound, 0, 1) == 0);
}

TEST_CASE("Sound read stretch after stretch, forth and back, is the sound read anew each time") {
    TempFolder folder;
    const auto path = make_media(folder / "tone.mp4", "-f lavfi -i \"aevalsrc='0.5*sin(2*PI*(200+100*t)*t)':d=6:s=44100\" -f lavfi -i testsrc2=size=64x48:rate=25:duration=6 -c:a aac -c:v libx264 -preset ultrafast");
    auto reader = SoundReader::open(path, 0);
    REQUIRE(reader.ok());
    for (const double from : {0.0, 0.5, 1.0, 5.5, 2.25, 0.0}) {
        CAPTURE(from);
        auto kept_open = reader->read(seconds(from, from + 0.5), {}, {});
        auto anew = read_sound(path, 0, seconds(from, from + 0.5), {}, {});
        REQUIRE(kept_open.ok());
        REQUIRE(anew.ok());
        CHECK(loudest(*anew, 0.1, 0.4) > 0.3);
        // Not to the bit: AAC's decoder keeps some state through a flush.
        REQUIRE(kept_open->size() == anew->size());
        float most = 0;
        for (std::size_t i = 0; i < anew->size(); ++i) most = std::max(most, std::abs((*kept_open)[i] - (*anew)[i]));
        CHECK(most < 0.01f);
    }
}
