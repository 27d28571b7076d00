// What identifying text looks like: the formats of numbers and dates. A hit asks a person to look; it
// changes no text. The names that a clinician typed in are compared in known.hpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace canalogue {

struct IdentifierHit {
    std::string what;    // "NHS number", "date": never the value
    std::size_t at = 0;  // byte offset in the text
    std::size_t length = 0;
};

// Ten digits, weights 10..2, sum mod 11, check = 11 - remainder (11 becomes 0, 10 is never valid);
// one repeated digit is no number. Rule: NHS check digit note, published at second hand.
bool is_nhs_number(std::string_view digits);

// Irish personal public service number: seven digits, weights 8..2, a second letter with weight 9 (A 1, B 2, W,
// T and X 0), sum mod 23 as a letter (0 is W, 1 A .. 22 V). Rule: published at second hand; the second letter's weight
// from memory.
bool is_pps_number(std::string_view text);

// A US social security number by its shape, AAA-GG-SSSS: never AAA 000, 666 or 900 and above, GG 00, SSSS 0000.
// Source: SSA POMS RM 10201.035.
bool is_us_social_security_number(std::string_view text);

// From the right every second digit doubled, 9 taken off above 9, the sum a multiple of 10 (ISO/IEC 7812-1
// Annex B, from memory). Account, card and provider numbers. Zeros alone do not count.
bool passes_luhn(std::string_view digits);

// A UK postcode with its blank. Source: public validators that quote a government appendix.
bool is_uk_postcode(std::string_view text);

// Dates, national numbers, record numbers with a cue word, account numbers, postcodes, telephone numbers, mail,
// web and network addresses, ages over 89.
std::vector<IdentifierHit> identifiers_in(std::string_view text);

}  // namespace canalogue
