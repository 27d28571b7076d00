// Names of the known list, heard: what is listened for, how unknown names are thought to sound, and what is found
// in speech that was really read aloud and in the draft voice's.
#include <catch2/catch.hpp>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <sstream>

#include "export/names_spoken.hpp"
#include "export/pronunciation.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

const char* const kRead = "/usr/share/pocketsphinx/test/data/librivox/";

std::string sentence(const SpokenForm& form) {
    std::string out = form.surely ? "" : "?";
    for (const auto& w : form.words) out += (out.empty() || out == "?" ? "" : " ") + w;
    return out;
}

std::set<std::string> forms(const std::string& identifier) {
    std::set<std::string> out;
    for (const auto& form : spoken_forms(identifier)) out.insert(sentence(form));
    return out;
}

std::vector<std::int16_t> sound_of(const TempFolder& folder, const std::string& input, const std::string& filter = "anull") {
    const fs::path raw = folder / "sound.raw";
    run("ffmpeg -v error -y " + input + " -af '" + filter + "' -ac 1 -ar 16000 -f s16le '" + raw.string() + "'");
    const std::string bytes = read_file(raw);
    std::vector<std::int16_t> out(bytes.size() / 2);
    std::copy_n(bytes.data(), out.size() * 2, reinterpret_cast<char*>(out.data()));
    return out;
}

std::vector<NameSpoken> heard(const std::vector<std::string>& names, const std::vector<std::int16_t>& sound) {
    auto listener = NameListener::make(names);
    REQUIRE(listener);
    auto hits = listener->hear(sound, {});
    REQUIRE(hits);
    return *hits;
}

// Phones apart when the one is turned into the other, by the longer one's number of phones.
double apart(const std::string& a, const std::string& b) {
    const auto split = [](const std::string& s) {
        std::istringstream in(s);
        return std::vector<std::string>(std::istream_iterator<std::string>(in), {});
    };
    const auto x = split(a), y = split(b);
    std::vector<std::size_t> row(y.size() + 1);
    for (std::size_t j = 0; j <= y.size(); ++j) row[j] = j;
    for (std::size_t i = 1; i <= x.size(); ++i) {
        std::size_t corner = row[0];
        row[0] = i;
        for (std::size_t j = 1; j <= y.size(); ++j) {
            const std::size_t here = std::min({row[j] + 1, row[j - 1] + 1, corner + (x[i - 1] != y[j - 1])});
            corner = row[j];
            row[j] = here;
        }
    }
    return static_cast<double>(row.back()) / static_cast<double>(std::max(x.size(), y.size()));
}

}  // namespace

TEST_CASE("A name is listened for with its titles and whole: alone it tells less") {
    const auto all = forms("Mrs Thirza Quennell");
    CHECK(all.count("thirza quennell"));
    CHECK(all.count("missus quennell"));
    CHECK(all.count("doctor quennell"));
    CHECK_FALSE(all.count("doctor thirza"));
    CHECK(all.count("?quennell"));
    CHECK_FALSE(all.count("missus mrs"));
}

TEST_CASE("A date is listened for as it is said, whichever way it was written") {
    const std::set<std::string> said{"third of may", "may third"};
    CHECK(forms("1962-05-03") == said);
    CHECK(forms("3 May 1962") == said);
    CHECK(forms("May 3, 1962") == said);
    CHECK(forms("21/12/1950") == std::set<std::string>{"twenty first of december", "december twenty first"});
    CHECK(forms("03.05.1962").size() == 4);  // the third of May or the fifth of March
}

TEST_CASE("A number is listened for digit by digit, four at a time") {
    CHECK(forms("MRN 44 17 08") == std::set<std::string>{"four four one seven", "one seven zero eight"});
    CHECK(forms("417").empty());
}

// Source: the CMU pronouncing dictionary in Debian's pocketsphinx-en-us (public domain), every 400th word of it.
TEST_CASE("What the draft voice makes of a word is near what the dictionary says") {
    std::ifstream in("/usr/share/pocketsphinx/model/en-us/cmudict-en-us.dict");
    std::string line;
    double sum = 0;
    int words = 0, number = 0;
    while (std::getline(in, line)) {
        const auto blank = line.find(' ');
        if (++number % 400 || blank == std::string::npos || line.find('(') < blank) continue;
        const auto guess = guessed_phones(line.substr(0, blank));
        REQUIRE(guess);
        sum += apart(*guess, line.substr(blank + 1));
        ++words;
    }
    REQUIRE(words > 250);
    INFO("mean share of phones that differ: " << sum / words);
    CHECK(sum / words < 0.2);
}

// Source: LibriVox recordings and their transcription in Debian's package pocketsphinx-testdata.
TEST_CASE("In speech read by a person, the name that is said is heard where it is said, and none of ten others") {
    if (!fs::exists(kRead)) {
        WARN("pocketsphinx-testdata is not installed: real speech was NOT tested");
        return;
    }
    const TempFolder folder;
    const std::vector<std::string> names{"John Dashwood", "Thirza Quennell", "Edda Marlow", "Piers Olander", "Sunniva Brock", "Casper Lindqvist", "Orla Tremaine", "Jory Penhallow", "Beata Falk", "Amos Whitlock", "Nessa Corrigan"};
    for (const auto& entry : fs::directory_iterator(kRead)) {
        if (entry.path().extension() != ".wav") continue;
        INFO(entry.path().filename());
        std::vector<NameSpoken> surely;
        for (const auto& hit : heard(names, sound_of(folder, "-i '" + entry.path().string() + "'")))
            if (hit.surely) surely.push_back(hit);
        const bool said = entry.path().string().find("0870") != std::string::npos;
        REQUIRE(surely.size() == (said ? 1 : 0));
        if (said) CHECK(surely[0].name == 0);
        if (said) CHECK(surely[0].start < 2 * kSecond);
    }
}

// Source of the voices: flite, a speech synthesiser of its own, from recordings of three people.
TEST_CASE("A name that the dictionary does not have is heard in a sentence, also under suction") {
    const TempFolder folder;
    const fs::path wav = folder / "said.wav";
    int said = 0, found = 0;
    for (const std::string words : {"This is the right ear of missus Quennelle after the wax was taken out.", "We look at Thirza Quennelle and her left ear.", "She was born on the third of May, it seems."})
        for (const std::string voice : {"slt", "rms", "kal16"})
            for (const std::string filter : {"anull", "aeval=val(0)+0.01*(random(0)-0.5)"}) {
                INFO(words << " " << voice << " " << filter);
                run("flite -voice " + voice + " -t '" + words + "' -o '" + wav.string() + "'");
                const auto hits = heard({"Thirza Quennelle", "1962-05-03", "Amos Whitlock"}, sound_of(folder, "-i '" + wav.string() + "'", filter));
                const std::size_t wanted = words.find("May") == std::string::npos ? 0 : 1;
                ++said;
                found += std::any_of(hits.begin(), hits.end(), [&](const NameSpoken& h) { return h.name == wanted && h.surely; });
                CHECK(std::none_of(hits.begin(), hits.end(), [](const NameSpoken& h) { return h.name == 2 && h.surely; }));
            }
    INFO(found << " of " << said);
    CHECK(found >= said - 2);  // it misses some, and says so
}

TEST_CASE("A list with nothing to listen for is refused in a sentence, and listening stops when asked") {
    const auto none = NameListener::make({"417"});
    REQUIRE_FALSE(none);
    CHECK(none.failure().sentence.find("type in names") != std::string::npos);
    auto listener = NameListener::make({"Thirza Quennell"});
    REQUIRE(listener);
    const std::atomic<bool> at_once = true;
    Progress stop;
    stop.stop = &at_once;
    const auto hits = listener->hear(std::vector<std::int16_t>(kListenRate * 3), stop);
    REQUIRE_FALSE(hits);
    CHECK(hits.failure().trouble == Trouble::cancelled);
}
