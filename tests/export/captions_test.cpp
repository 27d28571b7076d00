#include <catch2/catch.hpp>

#include <random>

#include "export/captions.hpp"
#include "export/voice.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::film;

namespace {

std::string joined(const std::vector<Cue>& cues) {
    std::string out;
    for (const auto& c : cues)
        for (const auto& l : c.lines) out += (out.empty() ? "" : " ") + l;
    return out;
}

// Marks at an even pace of letters, as a voice would give them.
std::vector<WordMark> even_marks(const std::string& line, Nanos length) {
    std::vector<WordMark> out;
    for (std::size_t i = 0; i < line.size(); ++i)
        if (line[i] != ' ' && (i == 0 || line[i - 1] == ' '))
            out.push_back({i, std::min(line.find(' ', i), line.size()) - i, static_cast<Nanos>(static_cast<double>(length) * static_cast<double>(i) / static_cast<double>(line.size()))});
    return out;
}

std::string invented_line(std::mt19937& random) {
    static const char* const kWords[] = {"the", "drum", "is", "seen", "behind", "hard", "wax,", "which", "comes", "away", "slowly.", "Its", "handle", "points", "antero-superiorly;", "nothing", "else", "was", "left:", "look"};
    std::string out = "A";
    for (auto n = 1 + random() % 45; n > 0; --n) out += std::string(" ") + kWords[random() % 20];
    return out + ".";
}

}  // namespace

TEST_CASE("Captions say every word once, in at most two lines of at most 37 characters, without overlaps") {
    std::mt19937 random(11);
    for (int round = 0; round < 400; ++round) {
        const std::string line = invented_line(random);
        const Nanos length = static_cast<Nanos>(line.size()) * 65 * kMillisecond;
        auto cues = cues_for(line, round % 2 ? even_marks(line, length) : std::vector<WordMark>{}, {5 * kSecond}, length);
        const FilmTime end{5 * kSecond + length + 10 * kSecond};
        settle(cues, end);
        INFO(line);
        REQUIRE(joined(cues) == line);
        for (std::size_t i = 0; i < cues.size(); ++i) {
            REQUIRE(cues[i].lines.size() <= 2);
            for (const auto& l : cues[i].lines) REQUIRE(characters(l) <= kLineLength);
            REQUIRE_FALSE(cues[i].span.empty());
            REQUIRE(cues[i].span.length() <= kLongestCue + kSecond);
            REQUIRE(cues[i].span.start.ns >= 5 * kSecond);
            if (i + 1 < cues.size()) REQUIRE(cues[i].span.end <= cues[i + 1].span.start);
        }
        REQUIRE(cues.back().span.end <= end);
    }
}

// 160 to 180 words a minute are comfortable (BBC guidelines, quoted at second hand); a lone cue has the
// room to stay that long.
TEST_CASE("A cue with room after it stays long enough to be read") {
    for (const std::string line : {"Look.", "The drum is clear.", "The drum of the right ear can be seen now."}) {
        auto cues = cues_for(line, {}, {0}, 300 * kMillisecond);
        settle(cues, {60 * kSecond});
        REQUIRE(cues.size() == 1);
        const auto words = 1 + std::count(line.begin(), line.end(), ' ');
        INFO(line);
        CHECK(cues[0].span.length() >= kSecond);
        CHECK(static_cast<double>(words) * 60 / (static_cast<double>(cues[0].span.length()) / kSecond) <= kWordsPerMinute + 0.01);
    }
}

TEST_CASE("A cue begins with its first word as the voice says it") {
    const std::string line = "The wax is hard and dark here. It comes away in one piece, and the drum behind it can be seen.";
    auto spoken = speak(line, "en-GB");
    REQUIRE(spoken.ok());
    const auto cues = cues_for(line, spoken->words, {0}, spoken->length());
    REQUIRE(cues.size() >= 2);
    for (const auto& cue : cues) {
        const auto at = line.find(cue.lines[0]);
        REQUIRE(at != std::string::npos);
        const auto mark = std::find_if(spoken->words.begin(), spoken->words.end(), [&](const WordMark& m) { return m.at >= at; });
        REQUIRE(mark != spoken->words.end());
        INFO(cue.lines[0]);
        CHECK(cue.span.start.ns == mark->time);
    }
}

TEST_CASE("A line sounds the same whatever was said before it, and its words come in order") {
    const std::string line = "A piece of hard wax comes away.";
    const auto first = speak(line, "en-GB");
    REQUIRE(first.ok());
    CHECK(first->length() > kSecond);
    CHECK(first->words.size() >= 6);
    for (std::size_t i = 0; i + 1 < first->words.size(); ++i) CHECK(first->words[i].time <= first->words[i + 1].time);
    for (const char* before : {"A piece of hard wax comes away.", "Then the drum is seen.", "The canal is now looked at for the time number 2.", "S\u00ed, est\u00e1 limpio."}) {
        REQUIRE(speak(before, before[0] == 'S' ? "es" : "en-GB").ok());
        const auto again = speak(line, "en-GB");
        REQUIRE(again.ok());
        const bool same = again->samples == first->samples;
        INFO(before);
        CHECK(same);
    }
    CHECK_FALSE(speak("x", "xx-XX").ok());
}

TEST_CASE("Short gaps between cues are closed, long ones stay") {
    std::vector<Cue> cues{{{{0}, {2 * kSecond}}, {"one"}}, {{{2'600 * kMillisecond}, {4 * kSecond}}, {"two"}}, {{{8 * kSecond}, {10 * kSecond}}, {"three"}}};
    settle(cues, {20 * kSecond});
    CHECK(cues[0].span.end == cues[1].span.start);
    CHECK(cues[1].span.end < cues[2].span.start);
}

TEST_CASE("Characters are counted, not bytes") {
    CHECK(characters("") == 0);
    CHECK(characters("caf\xC3\xA9") == 4);
    CHECK(characters("\xE2\x82\xAC") == 1);
}
