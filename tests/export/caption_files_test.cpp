#include <catch2/catch.hpp>

#include "export/caption_files.hpp"
#include "export/sidecars.hpp"

using namespace canalogue;
using namespace canalogue::film;

namespace {
const std::vector<Cue> kCues{{{{kSecond}, {kSecond * 5 / 2}}, {"The canal & the drum", "are <clear>."}}, {{{3661 * kSecond}, {3662 * kSecond}}, {"Gehörgang"}}};

void same(const std::vector<Cue>& a, const std::vector<Cue>& b) {
    REQUIRE(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
        CHECK(a[i].span == b[i].span);
        CHECK(a[i].lines == b[i].lines);
    }
}
}  // namespace

TEST_CASE("Captions written as WebVTT are read back as they were") {
    const auto vtt = read_captions(captions_vtt(kCues));
    REQUIRE(vtt.ok());
    same(*vtt, kCues);
}

TEST_CASE("SubRip numbers its cues, has commas in its times, and is read back") {
    const std::vector<Cue> plain{{{{kSecond}, {kSecond * 5 / 2}}, {"The canal", "is clear."}}, {{{4 * kSecond}, {5 * kSecond}}, {"The drum."}}};
    const std::string srt = captions_srt(plain);
    CHECK(srt == "1\n00:00:01,000 --> 00:00:02,500\nThe canal\nis clear.\n\n2\n00:00:04,000 --> 00:00:05,000\nThe drum.\n\n");
    const auto back = read_captions(srt);
    REQUIRE(back.ok());
    same(*back, plain);
}

TEST_CASE("Notes, styles, settings, tags and line ends of other systems are no words") {
    const auto cues = read_captions("\xEF\xBB\xBFWEBVTT - Cymraeg\r\n\r\nNOTE a note\r\n\r\nSTYLE\r\n::cue { color: red }\r\n\r\nname\r\n00:01.000 --> 00:02.000 line:80% align:start\r\n<v Nyrs>Mae'r <b>glust</b> yn glir.\r\n");
    REQUIRE(cues.ok());
    REQUIRE(cues->size() == 1);
    CHECK((*cues)[0].lines == std::vector<std::string>{"Mae'r glust yn glir."});
}

// Source of the wrong times: WebVTT (W3C), timestamps: exactly three decimals after a full stop; an end later than its start.
TEST_CASE("What is no caption file is refused with the line") {
    for (const auto& [text, words] : {std::pair{"", "no cue"}, {"hello", "no cue"}, {"WEBVTT\n\n00:01.00 --> 00:02.000\nx\n", "line 3"}, {"WEBVTT\n\n00:05.000 --> 00:05.000\nx\n", "ends before"},
                                      {"1\n2\n00:00:01,000 --> 00:00:02,000\nx\n", "more than one line"}, {"1\nsoon --> later\nx\n", "line 2"}}) {
        const auto cues = read_captions(text);
        INFO(text);
        REQUIRE_FALSE(cues.ok());
        CHECK(cues.failure().sentence.find(words) != std::string::npos);
    }
}
