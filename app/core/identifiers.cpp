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

namespace {

// "at S1 2nd": an ordinal, as long as it is written small.
bool is_ordinal(std::string_view inward) {
    return inward == "1st" || inward == "2nd" || inward == "3rd" || inward.ends_with("th");
}

void find_national_numbers(const std::string& text, std::vector<IdentifierHit>& out) {
    static const std::regex kTenDigits(R"((?:^|[^\d])(\d{3}[ \-]?\d{3}[ \-]?\d{4})(?!\d))");
    static const std::regex kPps(R"(\b\d{7}[A-W][A-IWTX]?\b)", std::regex::icase);
    static const std::regex kUsNumber(R"((?:^|[^\d\-])(\d{3}-\d{2}-\d{4})(?![\d\-]))");
    static const std::regex kAccount(R"((?:^|[^\d.])((?:\d[ \-]?){10,18}\d)(?![\d.]))");
    static const std::regex kPostcode(R"(\b[A-Z]{1,2}\d[A-Z\d]? (\d[A-Z]{2})\b)", std::regex::icase);
    find_all(text, kTenDigits, "NHS number", out, [](const std::smatch& m) { return is_nhs_number(m[1].str()); });
    find_all(text, kPps, "personal public service number", out, [](const std::smatch& m) { return is_pps_number(m.str()); });
    find_all(text, kUsNumber, "social security number", out, [](const std::smatch& m) { return is_us_social_security_number(m[1].str()); });
    find_all(text, kAccount, "account or card number", out, [](const std::smatch& m) { return passes_luhn(m[1].str()); });
    find_all(text, kPostcode, "postcode", out, [](const std::smatch& m) { return is_uk_postcode(m.str()) && !is_ordinal(m[1].str()); });
}

// Telephone numbers as they are dialled at home: British ones begin with 0, American ones have their area in
// brackets (common practice).
void find_national_telephones(const std::string& text, std::vector<IdentifierHit>& out) {
    static const std::regex kBritish(R"((?:^|[^\d+.])(0[123578](?:[ \-]?\d){8,9})(?!\d))");
    static const std::regex kAmerican(R"(\(\d{3}\)[ \-]?\d{3}-\d{4}\b)");
    find_all(text, kBritish, "telephone number", out, [](const std::smatch& m) { return !is_nhs_number(m[1].str()); });
    find_all(text, kAmerican, "telephone number", out, [](const std::smatch&) { return true; });
}

// Ages over 89 identify (45 CFR 164.514(b)(2)(i)(C)).
void find_high_ages(const std::string& text, std::vector<IdentifierHit>& out) {
    static const std::regex kAge(R"(\b(?:age|aged)[: ]+(\d{2,3})\b|\b(\d{2,3})[ \-]?(?:years?|yrs?|y/?o)\b)", std::regex::icase);
    find_all(text, kAge, "age over 89", out, [](const std::smatch& m) {
        const int years = number(m[1].matched ? m[1] : m[2]);
        return years > 89 && years < 130;
    });
}

void find_addresses(const std::string& text, std::vector<IdentifierHit>& out) {
    static const std::regex kMail(R"([A-Za-z0-9._%+'\-]+@[A-Za-z0-9\-]+(?:\.[A-Za-z0-9\-]+)+)");
    static const std::regex kWeb(R"(\b(?:https?://|www\.)[^\s"<>]+)", std::regex::icase);
    static const std::regex kNetwork(R"((?:^|[^\d.])((?:(?:25[0-5]|2[0-4]\d|1\d\d|[1-9]?\d)\.){3}(?:25[0-5]|2[0-4]\d|1\d\d|[1-9]?\d))(?![\d.]))");
    const auto always = [](const std::smatch&) { return true; };
    find_all(text, kMail, "mail address", out, always);
    // Exports name the standard they follow.
    find_all(text, kWeb, "web address", out, [](const std::smatch& m) { return !m.str().starts_with("http://www.w3.org/"); });
    find_all(text, kNetwork, "network address", out, always);
}

}  // namespace

std::vector<IdentifierHit> identifiers_in(std::string_view view) {
    static const std::regex kNumericDate(R"(\b(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{4}|\d{2})\b)");
    static const std::regex kIsoDate(R"(\b(\d{4})[/.\-](\d{1,2})[/.\-](\d{1,2})\b)");
    static const std::regex kLongDate(
        R"(\b(\d{1,2})(?:st|nd|rd|th)?\s+(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?,?\s+\d{2,4}\b|\b(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?\s+\d{1,2}(?:st|nd|rd|th)?,?\s+\d{4}\b)",
        std::regex::icase);
    static const std::regex kRecordNumber(
        R"(\b(?:MRN|NHS|Hosp(?:ital)?|Pt|Patient|Unit)\.?\s*(?:No|ID|Number)?\.?\s*[:#]?\s*(?:TEST\s+)?((?=[A-Z0-9\-]*\d{4})[A-Z0-9][A-Z0-9\-]{4,11})\b)",
        std::regex::icase);
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
    find_national_numbers(text, out);
    find_all(text, kRecordNumber, "record number", out, always);
    find_addresses(text, out);
    find_high_ages(text, out);
    find_national_telephones(text, out);
    find_all(text, kPhone, "telephone number", out, [](const std::smatch& m) {
        const std::string written = m.str();
        const auto digits = digits_of(written).size() - (written.find("(0)") != std::string::npos);
        return digits >= 8 && digits <= 15;  // E.164
    });
    return out;
}

}  // namespace canalogue
