#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>

#include "export/names_spoken.hpp"

namespace canalogue::film {

namespace {

using Words = std::vector<std::string>;

constexpr std::array<std::string_view, 10> kDigits{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"};
constexpr std::array<std::string_view, 12> kMonths{"january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"};
constexpr std::array<std::string_view, 32> kDays{
    "", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth",
    "sixteenth", "seventeenth", "eighteenth", "nineteenth", "twentieth", "twenty first", "twenty second", "twenty third", "twenty fourth", "twenty fifth", "twenty sixth", "twenty seventh", "twenty eighth", "twenty ninth", "thirtieth", "thirty first"};
// "Miss" is part of too many words to be listened for; who says it is mostly heard as "missus".
constexpr std::array<std::string_view, 3> kTitles{"mister", "missus", "doctor"};
constexpr std::array<std::string_view, 9> kNoNames{"mr", "mrs", "ms", "dr", "mister", "missus", "miss", "doctor", "mrn"};
constexpr std::size_t kMostWords = 4;      // a phrase; longer ones are heard worse (measured on read speech)
constexpr std::size_t kShortestName = 3;   // letters; below it a title and a name sound like anything
constexpr std::size_t kDigitsTogether = 4;

bool digit(char c) { return c >= '0' && c <= '9'; }
bool letter(char c) { return std::isalpha(static_cast<unsigned char>(c)) || static_cast<unsigned char>(c) >= 0x80 || c == '\''; }

// Runs of letters and runs of digits, lower case.
Words pieces_of(const std::string& text) {
    Words out;
    char before = ' ';
    for (const char c : text) {
        if (!digit(c) && !letter(c)) {
            before = ' ';
            continue;
        }
        const bool goes_on = before != ' ' && digit(before) == digit(c);
        if (!goes_on) out.emplace_back();
        out.back() += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        before = c;
    }
    return out;
}

Words split(std::string_view text) {
    Words out;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = std::min(text.find(' ', at), text.size());
        out.emplace_back(text.substr(at, end - at));
        at = end + 1;
    }
    return out;
}

Words joined(Words a, const Words& b) {
    a.insert(a.end(), b.begin(), b.end());
    return a;
}

int number(const std::string& piece) { return piece.size() <= 4 && std::all_of(piece.begin(), piece.end(), digit) ? std::stoi(piece) : -1; }

// 1..12 for "3" and for "mar" or "march"; 0 for what is no month.
int month_in(const std::string& piece) {
    if (const int n = number(piece); n >= 1 && n <= 12) return n;
    for (std::size_t m = 0; m < kMonths.size(); ++m)
        if (piece.size() >= 3 && kMonths[m].substr(0, piece.size()) == piece) return static_cast<int>(m) + 1;
    return 0;
}

// Day and month in the orders that dates are written in; both where either could be meant.
void add_dates(const Words& p, std::vector<SpokenForm>& out) {
    if (p.size() != 3) return;
    const auto say = [&](const std::string& d, const std::string& m) {
        const int day = number(d), month = month_in(m);
        if (day < 1 || day > 31 || month < 1) return;
        const Words spoken_day = split(kDays[static_cast<std::size_t>(day)]), spoken_month{std::string(kMonths[static_cast<std::size_t>(month) - 1])};
        out.push_back({joined(joined(spoken_day, {"of"}), spoken_month), true});
        out.push_back({joined(spoken_month, spoken_day), true});
    };
    const bool year_first = p[0].size() == 4;
    if (year_first) return say(p[2], p[1]);
    say(p[0], p[1]);
    if (p[0] != p[1]) say(p[1], p[0]);
}

// Digit by digit, four at a time. Of a long number one group alone may be part of any other.
void add_number(const Words& pieces, std::vector<SpokenForm>& out) {
    std::string digits;
    for (const auto& p : pieces)
        if (digit(p.front())) digits += p;
    if (digits.size() < kDigitsTogether) return;
    for (std::size_t at = 0; at < digits.size(); at += kDigitsTogether) {
        const std::size_t from = std::min(at, digits.size() - kDigitsTogether);
        SpokenForm form{{}, true};
        for (const char c : digits.substr(from, kDigitsTogether)) form.words.emplace_back(kDigits[static_cast<std::size_t>(c - '0')]);
        out.push_back(std::move(form));
    }
}

void add_name(Words names, std::vector<SpokenForm>& out) {
    const auto no_name = [](const std::string& w) { return w.size() < 2 || std::find(kNoNames.begin(), kNoNames.end(), w) != kNoNames.end(); };
    names.erase(std::remove_if(names.begin(), names.end(), no_name), names.end());
    if (names.size() >= 2) {
        out.push_back({Words(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(std::min(names.size(), kMostWords))), true});
        if (names.size() > 2) out.push_back({{names.front(), names.back()}, true});
    }
    for (const auto& name : names) {
        if (name.size() < kShortestName) continue;
        // Nobody is called by title and first name.
        if (&name == &names.back())
            for (const auto title : kTitles) out.push_back({{std::string(title), name}, true});
        out.push_back({{name}, false});
    }
}

}  // namespace

std::vector<SpokenForm> spoken_forms(const std::string& identifier) {
    const Words pieces = pieces_of(identifier);
    Words names;
    for (const auto& p : pieces)
        if (!digit(p.front())) names.push_back(p);
    std::vector<SpokenForm> out;
    add_dates(pieces, out);
    const bool date = !out.empty();
    if (!date) add_number(pieces, out), add_name(names, out);
    return out;
}

}  // namespace canalogue::film
