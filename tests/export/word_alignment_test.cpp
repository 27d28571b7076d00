// Words placed where they are said: prompts that a person read one by one, joined at known places.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>

#include "export/voice.hpp"
#include "export/word_alignment.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

const fs::path kPrompts = "/usr/share/asterisk/sounds/en_US_f_Allison";

std::vector<std::int16_t> prompt(const TempFolder& folder, const std::string& name) {
    const fs::path raw = folder / "prompt.raw";
    run("ffmpeg -v error -y -f g722 -i '" + (kPrompts / (name + ".g722")).string() + "' -ac 1 -ar 48000 -f s16le '" + raw.string() + "'");
    const std::string bytes = read_file(raw);
    std::vector<std::int16_t> out(bytes.size() / 2);
    std::copy_n(bytes.data(), out.size() * 2, reinterpret_cast<char*>(out.data()));
    return out;
}

// Where its sound begins: the first 10 ms that are within 40 dB of the loudest (an "f" is soft).
std::size_t onset(const std::vector<std::int16_t>& s) {
    constexpr std::size_t kWindow = 480;
    std::vector<double> energy;
    for (std::size_t at = 0; at + kWindow <= s.size(); at += kWindow) {
        double sum = 0;
        for (std::size_t i = at; i < at + kWindow; ++i) sum += static_cast<double>(s[i]) * s[i];
        energy.push_back(sum);
    }
    const double least = *std::max_element(energy.begin(), energy.end()) / 10000;
    return static_cast<std::size_t>(std::find_if(energy.begin(), energy.end(), [&](double e) { return e >= least; }) - energy.begin()) * kWindow;
}

// And where it ends: the last 10 ms of that kind.
std::size_t ending(const std::vector<std::int16_t>& s) {
    std::vector<std::int16_t> back(s.rbegin(), s.rend());
    return s.size() - onset(back);
}

}  // namespace

// Source: Debian's asterisk-core-sounds-en-g722, read by one person (CC-BY-SA). Wanted: median 25 ms, nine in ten within 60 ms.
TEST_CASE("Each word of a line is found where a person says it") {
    if (!fs::exists(kPrompts / "digits")) {
        WARN("asterisk-core-sounds-en-g722 is not installed: alignment was NOT tested on real words");
        return;
    }
    const TempFolder folder;
    const std::vector<std::vector<std::string>> lines{
        {"digits/mon-0:january", "digits/3:three", "digits/mon-4:may", "digits/h-5:fifth", "digits/day-1:monday"},
        {"digits/day-3:wednesday", "digits/7:seven", "digits/20:twenty", "digits/mon-7:august", "digits/h-2:second", "digits/9:nine"},
        {"digits/12:twelve", "digits/mon-10:november", "digits/day-5:friday", "digits/h-10:tenth", "digits/million:million"},
        {"digits/mon-1:february", "digits/80:eighty", "digits/day-0:sunday", "digits/4:four", "digits/16:sixteen", "digits/h-3:third"},
        {"letters/a:a", "digits/thousand:thousand", "digits/mon-8:september", "digits/6:six", "digits/day-6:saturday"}};
    std::vector<double> errors, late;
    for (const auto& line : lines) {
        std::vector<std::int16_t> sound;
        std::vector<double> truth, over;
        std::string says;
        for (const auto& each : line) {
            const auto colon = each.find(':');
            const auto s = prompt(folder, each.substr(0, colon));
            truth.push_back(static_cast<double>(sound.size() + onset(s)) / 48);
            over.push_back(static_cast<double>(sound.size() + ending(s)) / 48);
            sound.insert(sound.end(), s.begin(), s.end());
            says += (says.empty() ? "" : " ") + each.substr(colon + 1);
        }
        INFO(says);
        const auto marks = words_in(sound, says + ".");
        REQUIRE(marks);
        REQUIRE(marks->size() == truth.size());
        for (std::size_t i = 0; i < truth.size(); ++i) {
            errors.push_back(std::abs(static_cast<double>((*marks)[i].time) / kMillisecond - truth[i]));
            late.push_back(std::abs(static_cast<double>((*marks)[i].end) / kMillisecond - over[i]));
        }
    }
    std::sort(errors.begin(), errors.end());
    CAPTURE(errors);
    CHECK(errors[errors.size() / 2] <= 25);
    CHECK(errors[errors.size() * 9 / 10] <= 60);
    std::sort(late.begin(), late.end());
    CAPTURE(late);
    CHECK(late[late.size() * 9 / 10] <= 120);
}

// Source: espeak-ng's own word events, which say at which sample it begins a word.
TEST_CASE("Each word of a synthetic voice is found where that voice says it began") {
    std::vector<double> errors;
    for (const std::string says : {"The canal is clear and the drum can be seen.", "Hard wax fills the whole canal of the right ear.", "Suction takes out the last piece.",
                                   "The skin is left alone because it is attached.", "Referral within two weeks is advised."}) {
        const auto spoken = speak(says, "en-US");
        REQUIRE(spoken.ok());
        // As a take: 48 kHz. Each sample stands for more of them.
        std::vector<std::int16_t> sound;
        for (std::size_t i = 0; i * static_cast<std::size_t>(spoken->rate) / 48000 < spoken->samples.size(); ++i)
            sound.push_back(spoken->samples[i * static_cast<std::size_t>(spoken->rate) / 48000]);
        const auto marks = words_in(sound, says);
        INFO(says);
        REQUIRE(marks);
        // It says some words in one breath ("of the"): these have one event.
        REQUIRE(spoken->words.size() * 5 >= marks->size() * 4);
        for (const auto& word : spoken->words)
            for (const auto& mark : *marks)
                if (mark.at == word.at) errors.push_back(std::abs(static_cast<double>(mark.time - word.time)) / kMillisecond);
    }
    std::sort(errors.begin(), errors.end());
    CAPTURE(errors);
    CHECK(errors[errors.size() / 2] <= 25);
    CHECK(errors[errors.size() * 9 / 10] <= 60);
}

TEST_CASE("What cannot be found by its words is left to be estimated") {
    const std::vector<std::int16_t> silence(48000, 0);
    CHECK_FALSE(words_in(silence, ""));
    CHECK_FALSE(words_in(silence, "At 12 o'clock"));                             // said in more than one way
    CHECK_FALSE(words_in(silence, "Der Gehörgang ist frei und das Trommelfell zart"));  // another language
}
