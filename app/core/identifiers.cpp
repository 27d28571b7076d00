#include "app/core/identifiers.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdlib>
#include <regex>

namespace canalogue {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string digits_of(std::string_view text) {
    std::string out;
    for (char c : text)
        if (is_digit(c)) out += c;
    return out;
}

int days_in(int month, int year) {
    constexpr std::array<int, 12> kDays{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return month == 2 && leap ? 29 : kDays[static_cast<std::size_t>(month - 1)];
}

bool is_real_day(int day, int month, int year) {
    return month >= 1 && month <= 12 && day >= 1 && day <= days_in(month, year);
}

int number(const std::ssub_match& m) { return std::atoi(m.str().c_str()); }

// A short year is of either century; a leap day then counts when one of them has it.
bool plausible(int day, int month, const std::ssub_match& year) {
    const int y = number(year);
    return year.length() == 4 ? is_real_day(day, month, y) : is_real_day(day, month, 2000 + y) || is_real_day(day, month, 1900 + y);
}

template <class Check>
void find_all(const std::string& text, const std::regex& pattern, const char* what, std::vector<IdentifierHit>& out, Check check) {
    for (std::sregex_iterator it(text.begin(), text.end(), pattern), end; it != end; ++it)
        if (check(*it))
            out.push_back({what, static_cast<std::size_t>(it->position(0)), static_cast<std::size_t>(it->length(0))});
}

}  // namespace

bool is_nhs_number(std::string_view text) {
    const std::string d = digits_of(text);
    if (d.size() != 10 || std::all_of(d.begin(), d.end(), [&](char c) { return c == d[0]; })) return false;
    int sum = 0;
    for (int i = 0; i < 9; ++i) sum += (d[static_cast<std::size_t>(i)] - '0') * (10 - i);
    const int check = (11 - sum % 11) % 11;
    return check != 10 && check == d[9] - '0';
}

std::vector<IdentifierHit> identifiers_in(std::string_view view) {
    static const std::regex kNumericDate(R"(\b(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{4}|\d{2})\b)");
    static const std::regex kIsoDate(R"(\b(\d{4})[/.\-](\d{1,2})[/.\-](\d{1,2})\b)");
    static const std::regex kLongDate(
        R"(\b(\d{1,2})(?:st|nd|rd|th)?\s+(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?,?\s+\d{2,4}\b|\b(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?\s+\d{1,2}(?:st|nd|rd|th)?,?\s+\d{4}\b)",
        std::regex::icase);
    static const std::regex kTenDigits(R"((?:^|[^\d])(\d{3}[ \-]?\d{3}[ \-]?\d{4})(?!\d))");
    static const std::regex kRecordNumber(
        R"(\b(?:MRN|NHS|Hosp(?:ital)?|Pt|Patient|Unit)\.?\s*(?:No|ID|Number)?\.?\s*[:#]?\s*(?:TEST\s+)?((?=[A-Z0-9\-]*\d{4})[A-Z0-9][A-Z0-9\-]{4,11})\b)",
        std::regex::icase);
    static const std::regex kMail(R"([A-Za-z0-9._%+'\-]+@[A-Za-z0-9\-]+(?:\.[A-Za-z0-9\-]+)+)");
    // In one piece or in groups; "+44 (0)1632 ..." is a common mixture.
    static const std::regex kPhone(R"(\+[1-9]\d{7,14}\b|\+[1-9]\d{0,2}(?:[ .\-]?\(\d{1,5}\))?(?:[ .\-]?\d{2,7}){2,5}\b)");
    const std::string text(view);
    std::vector<IdentifierHit> out;
    const auto always = [](const std::smatch&) { return true; };
    find_all(text, kNumericDate, "date", out, [](const std::smatch& m) {
        return plausible(number(m[1]), number(m[2]), m[3]) || plausible(number(m[2]), number(m[1]), m[3]);
    });
    find_all(text, kIsoDate, "date", out, [](const std::smatch& m) { return is_real_day(number(m[3]), number(m[2]), number(m[1])); });
    find_all(text, kLongDate, "date", out, always);
    find_all(text, kTenDigits, "NHS number", out, [](const std::smatch& m) { return is_nhs_number(m[1].str()); });
    find_all(text, kRecordNumber, "record number", out, always);
    find_all(text, kMail, "mail address", out, always);
    find_all(text, kPhone, "telephone number", out, [](const std::smatch& m) {
        const std::string written = m.str();
        const auto digits = digits_of(written).size() - (written.find("(0)") != std::string::npos);
        return digits >= 8 && digits <= 15;  // E.164
    });
    return out;
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

bool written_with(std::string_view text, std::string_view identifier) {
    const auto digits = std::count_if(identifier.begin(), identifier.end(), is_digit);
    const auto letters = std::count_if(identifier.begin(), identifier.end(), [](unsigned char c) { return std::isalpha(c) || c >= 0x80; });
    const std::string wanted = reader_form(identifier);
    for (std::size_t at = 0; at <= text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        const std::string_view line = text.substr(at, end - at);
        at = end + 1;
        if (line.find("-->") != std::string_view::npos) continue;
        const bool number = digits > letters && wanted.size() >= 4;
        if (number ? reader_form(line).find(wanted) != std::string::npos : holds_identifier(line, identifier)) return true;
    }
    return false;
}

bool holds_identifier(std::string_view text, std::string_view identifier) {
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

}  // namespace canalogue
