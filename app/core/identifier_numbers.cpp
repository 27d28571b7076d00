// Numbers and codes that can be told by their own rules.
#include <algorithm>
#include <array>
#include <cctype>
#include <regex>
#include <string>

#include "app/core/identifiers.hpp"

namespace canalogue {

namespace {

std::string digits_of(std::string_view text) {
    std::string out;
    std::copy_if(text.begin(), text.end(), std::back_inserter(out), [](unsigned char c) { return std::isdigit(c); });
    return out;
}

bool all_the_same(const std::string& d) {
    return std::all_of(d.begin(), d.end(), [&](char c) { return c == d[0]; });
}

int value(char c) { return c - '0'; }

}  // namespace

bool is_nhs_number(std::string_view text) {
    const std::string d = digits_of(text);
    if (d.size() != 10 || all_the_same(d)) return false;
    int sum = 0;
    for (int i = 0; i < 9; ++i) sum += value(d[static_cast<std::size_t>(i)]) * (10 - i);
    const int check = (11 - sum % 11) % 11;
    return check != 10 && check == value(d[9]);
}

bool is_pps_number(std::string_view text) {
    static constexpr std::string_view kLetters = "WABCDEFGHIJKLMNOPQRSTUV";
    if (text.size() != 8 && text.size() != 9) return false;
    int sum = 0;
    for (int i = 0; i < 7; ++i) {
        const char c = text[static_cast<std::size_t>(i)];
        if (!std::isdigit(static_cast<unsigned char>(c))) return false;
        sum += value(c) * (8 - i);
    }
    const auto letter = [&](std::size_t i) { return static_cast<char>(std::toupper(static_cast<unsigned char>(text[i]))); };
    if (text.size() == 9) {
        const char second = letter(8);
        if (second < 'A' || second > 'Z') return false;
        if (second != 'W' && second != 'T' && second != 'X') sum += 9 * (second - 'A' + 1);
    }
    return letter(7) == kLetters[static_cast<std::size_t>(sum % 23)];
}

bool is_us_social_security_number(std::string_view text) {
    static const std::regex kShape(R"((\d{3})-(\d{2})-(\d{4}))");
    std::cmatch m;
    if (!std::regex_match(text.data(), text.data() + text.size(), m, kShape)) return false;
    const int area = std::stoi(m[1]), group = std::stoi(m[2]), serial = std::stoi(m[3]);
    return area != 0 && area != 666 && area < 900 && group != 0 && serial != 0;
}

bool passes_luhn(std::string_view text) {
    const std::string d = digits_of(text);
    if (d.empty() || d.find_first_not_of('0') == std::string::npos) return false;
    int sum = 0;
    for (std::size_t i = 0; i < d.size(); ++i) {
        const int n = value(d[d.size() - 1 - i]) * (i % 2 ? 2 : 1);
        sum += n > 9 ? n - 9 : n;
    }
    return sum % 10 == 0;
}

bool is_uk_postcode(std::string_view text) {
    static const std::regex kShape(
        R"((?:GIR 0AA|(?:[A-PR-UWYZ](?:\d{1,2}|[A-HK-Y]\d|[A-HK-Y]\d\d|\d[A-HJKPSTUW]|[A-HK-Y]\d[ABEHMNPRVWXY])) \d[ABD-HJLNP-UW-Z]{2}))",
        std::regex::icase);
    return std::regex_match(text.begin(), text.end(), kShape);
}

}  // namespace canalogue
