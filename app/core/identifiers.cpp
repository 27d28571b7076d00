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

}  // namespace canalogue
