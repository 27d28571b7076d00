#include "export/word_alignment.hpp"

#include <pocketsphinx.h>

#include <algorithm>
#include <cctype>
#include <mutex>

#include "export/recogniser.hpp"

namespace canalogue::film {

namespace {

// Words are known and only their places are sought: the beams are wide, so that no word is dropped on the way.
const std::vector<std::string> kWide{"-beam", "1e-80", "-wbeam", "1e-60", "-pbeam", "1e-80", "-bestpath", "no"};
constexpr std::size_t kFewestKnown = 2;  // of three words, the dictionary must have so many

// A word of the line, and how the recogniser knows it: "in-ear" is two.
struct Told {
    WordMark mark;
    std::vector<std::string> said;
};

// Nothing where a word has signs that may be said in more than one way.
std::optional<std::vector<Told>> told_in(const std::string& says) {
    std::vector<Told> out;
    for (std::size_t at = 0; at < says.size();) {
        if (says[at] == ' ') {
            ++at;
            continue;
        }
        const std::size_t end = std::min(says.find(' ', at), says.size());
        Told told{{at, end - at, 0, 0}, {}};
        std::string word;
        const auto keep = [&] {
            if (!word.empty()) told.said.push_back(word);
            word.clear();
        };
        for (std::size_t i = at; i < end; ++i) {
            const auto c = static_cast<unsigned char>(says[i]);
            if (std::isdigit(c) || c == '%' || c == '/' || c == '&') return std::nullopt;
            if (std::isalpha(c) || c >= 0x80 || (c == '\'' && !word.empty())) word += static_cast<char>(std::tolower(c));
            else keep();
        }
        keep();
        out.push_back(std::move(told));
        at = end;
    }
    return out;
}

std::string grammar_of(const std::vector<Told>& told) {
    std::string out = "#JSGF V1.0; grammar line; public <line> =";
    for (const auto& t : told)
        for (const auto& word : t.said) out += " " + word;
    return out + ";";
}

// "the(2)" is another way to say "the".
std::string plain(const std::string& word) { return word.substr(0, word.find('(')); }

std::mutex one_at_a_time;

Recogniser* recogniser() {
    static auto started = Recogniser::start(kWide);
    return started ? &*started : nullptr;
}

}  // namespace

std::optional<std::vector<WordMark>> words_in(const std::vector<std::int16_t>& take, const std::string& says) {
    auto told = told_in(says);
    if (!told || told->empty()) return std::nullopt;
    const std::lock_guard lock(one_at_a_time);
    Recogniser* listener = recogniser();
    if (!listener) return std::nullopt;
    std::size_t words = 0, known = 0;
    for (const auto& t : *told)
        for (const auto& word : t.said) {
            ++words, known += listener->knows(word);
            if (listener->phones_of(word) == 0) return std::nullopt;
        }
    if (words == 0 || known * 3 < words * kFewestKnown) return std::nullopt;
    if (ps_set_jsgf_string(listener->ps(), "line", grammar_of(*told).c_str()) < 0 || ps_set_search(listener->ps(), "line") < 0) return std::nullopt;
    const auto sound = for_listening(take);
    const auto pieces = listener->hear(sound.data(), sound.size());
    if (!pieces) return std::nullopt;
    std::vector<Recogniser::Piece> said;
    for (const auto& piece : *pieces)
        if (piece.words[0] != '<' && piece.words[0] != '+' && piece.words[0] != '[' && piece.words != "(NULL)") said.push_back(piece);
    if (said.size() != words) return std::nullopt;
    std::vector<WordMark> out;
    std::size_t next = 0;
    for (auto& t : *told) {
        // A dash that stands alone is said with the word after it.
        t.mark.time = (next < said.size() ? said[next].first : said.back().last) * kListenFrame;
        for (const auto& word : t.said)
            if (plain(said[next++].words) != word) return std::nullopt;
        if (!t.said.empty()) t.mark.end = (said[next - 1].last + 1) * kListenFrame;
        out.push_back(t.mark);
    }
    return out;
}

}  // namespace canalogue::film
