#include "app/core/known.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <iterator>
#include <optional>
#include <utility>
#include <vector>

namespace canalogue {

namespace {

constexpr std::size_t kShortestPart = 4;  // letters of a name's word that is told apart from others

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool of_word(char c) { return std::isalnum(static_cast<unsigned char>(c)) || static_cast<unsigned char>(c) >= 0x80; }

std::string lower(std::string_view text) {
    std::string out(text);
    for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return out;
}

// A word where it stands in a text.
struct Word {
    std::string text;
    std::size_t at = 0;
};

std::vector<Word> words_in(std::string_view text) {
    std::vector<Word> out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (!of_word(text[i])) continue;
        const std::size_t at = i;
        while (i < text.size() && of_word(text[i])) ++i;
        out.push_back({std::string(text.substr(at, i - at)), at});
    }
    return out;
}

// Names that are words of every day, of this trade most of all (from memory, not a published list).
bool everyday(const std::string& word) {
    static constexpr std::array kWords{
        "april",  "august", "baker", "banks",  "bell",   "berry", "best",  "bird",  "black", "blue",  "bond",  "brown", "bush",  "butcher", "case",  "church", "clay",
        "cook",   "cotton", "cross", "dark",   "dawn",   "dean",  "drew",  "drum",  "farmer", "field", "fish", "ford",  "forest", "frank",  "gold",  "good",   "grace",
        "grant",  "gray",   "green", "grey",   "hall",   "hand",  "hands", "hard",  "hardy", "head",  "heath", "hill",  "hook",  "hope",    "house", "hunter", "iris",
        "june",   "king",   "knight", "lake",  "lane",   "large", "little", "long", "love",  "major", "march", "marsh", "mason", "miles",   "mill",  "miller", "moon",
        "moss",   "north",  "page",  "park",   "pearl",  "penny", "piper", "pool",  "pope",  "power", "price", "rain",  "read",  "reed",    "rice",  "rich",   "ring",
        "rivers", "rock",   "rose",  "rush",   "sharp",  "short", "silver", "small", "smart", "smith", "snow", "south", "speed", "spring",  "stone", "storm",  "strong",
        "summer", "swift",  "taylor", "violet", "walker", "ward", "water", "waters", "wells", "west", "white", "will",  "winter", "wise",   "wood",  "woods",  "young"};
    return std::find(kWords.begin(), kWords.end(), lower(word)) != kWords.end();
}

bool is_number(std::string_view identifier) {
    const auto digits = std::count_if(identifier.begin(), identifier.end(), is_digit);
    const auto letters = std::count_if(identifier.begin(), identifier.end(), [](char c) { return of_word(c) && !is_digit(c); });
    return digits > letters && reader_form(identifier).size() >= 4;
}

// The words of a name that tell it by themselves; none of a number or of a single word.
std::vector<std::string> parts_of(std::string_view identifier) {
    std::vector<std::string> out;
    const auto words = words_in(identifier);
    if (words.size() < 2 || is_number(identifier)) return out;
    for (const auto& w : words)
        if (w.text.size() >= kShortestPart && std::none_of(w.text.begin(), w.text.end(), is_digit)) out.push_back(w.text);
    return out;
}

// Begins with a capital though no sentence begins there.
bool capital_inside(std::string_view text, const Word& w) {
    if (!std::isupper(static_cast<unsigned char>(w.text[0]))) return false;
    std::size_t at = w.at;
    while (at > 0 && std::isspace(static_cast<unsigned char>(text[at - 1]))) --at;
    return at > 0 && std::string_view(".!?:").find(text[at - 1]) == std::string_view::npos;
}

bool holds_part(std::string_view text, std::string_view identifier) {
    const auto words = words_in(text);
    for (const auto& part : parts_of(identifier)) {
        const std::string wanted = reader_form(part);
        for (const auto& w : words)
            if (reader_form(w.text) == wanted && (!everyday(part) || capital_inside(text, w))) return true;
    }
    return false;
}

bool holds_whole(std::string_view text, std::string_view identifier) {
    const std::string wanted = reader_form(identifier), all = reader_form(text);
    if (wanted.empty()) return false;
    constexpr std::size_t kShort = 4, kCharactersPerEdit = 5;
    if (wanted.size() < kShort) {
        std::string word;
        for (std::size_t i = 0; i <= text.size(); ++i) {
            if (i < text.size() && (std::isalnum(static_cast<unsigned char>(text[i])))) {
                word += text[i];
                continue;
            }
            if (reader_form(word) == wanted) return true;
            word.clear();
        }
        return false;
    }
    // Edit distance of `wanted` to the best part of `all`: the first row is free, so is the end.
    const std::size_t allowed = wanted.size() / kCharactersPerEdit;
    std::vector<std::size_t> row(wanted.size() + 1);
    for (std::size_t j = 0; j < row.size(); ++j) row[j] = j;
    if (row.back() <= allowed) return true;
    for (char c : all) {
        std::size_t diagonal = row[0];
        row[0] = 0;
        for (std::size_t j = 1; j < row.size(); ++j) {
            const std::size_t best = std::min({row[j] + 1, row[j - 1] + 1, diagonal + (wanted[j - 1] != c)});
            diagonal = std::exchange(row[j], best);
        }
        if (row.back() <= allowed) return true;
    }
    return false;
}

// Lines of a text without what captions say about time.
std::vector<std::string> lines_of(std::string_view text) {
    std::vector<std::string> out;
    for (std::size_t at = 0; at <= text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        const std::string line(text.substr(at, end - at));
        at = end + 1;
        const bool cue_number = std::all_of(line.begin(), line.end(), [](unsigned char c) { return is_digit(static_cast<char>(c)) || std::isspace(c); }) && line.size() < 4;
        if (!cue_number && line.find("-->") == std::string::npos) out.push_back(line);
    }
    return out;
}

// The digits alone of a number that was sealed with letters ("TEST 0048213").
bool holds_digits(const std::string& form, std::string_view identifier) {
    constexpr std::size_t kFewest = 5;
    std::string digits;
    std::copy_if(identifier.begin(), identifier.end(), std::back_inserter(digits), is_digit);
    return digits.size() >= kFewest && form.find(digits) != std::string::npos;
}

std::optional<char> digit_said(const std::string& word) {
    static constexpr std::array kDigits{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"};
    for (std::size_t i = 0; i < kDigits.size(); ++i)
        if (word == kDigits[i]) return static_cast<char>('0' + i);
    if (word == "oh" || word == "nought" || word == "o") return '0';
    if (word.size() == 1 && is_digit(word[0])) return word[0];
    return std::nullopt;
}

}  // namespace

std::string_view name_of(Holding h) {
    switch (h) {
        case Holding::nothing: return "";
        case Holding::part: return "part of a known identifier";
        case Holding::whole: return "known identifier";
    }
    return "";
}

std::string reader_form(std::string_view text) {
    std::string out;
    for (char c : text) {
        const auto u = static_cast<unsigned char>(c);
        if (u >= 0x80) {
            out += c;  // letters beyond ASCII are kept as they are
            continue;
        }
        if (!std::isalnum(u)) continue;
        switch (const char low = static_cast<char>(std::tolower(u))) {
            case 'o': out += '0'; break;
            case 'i':
            case 'l': out += '1'; break;
            case 's': out += '5'; break;
            case 'b': out += '8'; break;
            case 'z': out += '2'; break;
            default: out += low;
        }
    }
    return out;
}

std::string spoken_digits_written(std::string_view text) {
    std::string out;
    std::size_t done = 0;  // of the text
    bool after_digit = false;
    const auto words = words_in(text);
    for (std::size_t i = 0; i < words.size(); ++i) {
        const std::string first = lower(words[i].text);
        const std::size_t times = first == "double" ? 2 : first == "triple" || first == "treble" ? 3 : 1;
        const std::size_t said = times > 1 && i + 1 < words.size() ? i + 1 : i;
        const auto digit = digit_said(lower(words[said].text));
        if (!digit) {
            after_digit = false;
            continue;
        }
        const std::string_view between = text.substr(done, words[i].at - done);
        const bool joins = after_digit && between.find_first_not_of(" \t\n") == std::string_view::npos;
        if (!joins) out += between;
        out.append(times, *digit);
        done = words[said].at + words[said].text.size();
        after_digit = true;
        i = said;
    }
    return out + std::string(text.substr(done));
}

Holding read_with(std::string_view text, std::string_view identifier) {
    if (holds_whole(text, identifier)) return Holding::whole;
    if (is_number(identifier) && holds_digits(reader_form(text), identifier)) return Holding::part;
    return holds_part(text, identifier) ? Holding::part : Holding::nothing;
}

Holding written_with(std::string_view text, std::string_view identifier) {
    const bool number = is_number(identifier);
    const std::string wanted = reader_form(identifier);
    const auto whole = [&](std::string_view part) {
        if (!number) return holds_whole(part, identifier);
        return reader_form(part).find(wanted) != std::string::npos || reader_form(spoken_digits_written(part)).find(wanted) != std::string::npos;
    };
    auto lines = lines_of(text);
    for (const auto& line : lines)
        if (whole(line)) return Holding::whole;
    // A name may be cut in two between captions: the blank lines there are nothing.
    std::erase_if(lines, [](const std::string& l) { return l.find_first_not_of(" \t\r") == std::string::npos; });
    for (std::size_t i = 0; i + 1 < lines.size(); ++i)
        if (whole(lines[i] + " " + lines[i + 1])) return Holding::whole;
    for (const auto& line : lines)
        if (holds_part(line, identifier) || (number && holds_digits(reader_form(spoken_digits_written(line)), identifier))) return Holding::part;
    return Holding::nothing;
}

}  // namespace canalogue
