// What identifying text looks like: the formats of numbers and dates. A hit asks a person to look; it
// changes no text. The names that a clinician typed in are compared in known.hpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace canalogue {

struct IdentifierHit {
    std::string what;    // "NHS number", "date", "known identifier": never the value
    std::size_t at = 0;  // byte offset in the text
    std::size_t length = 0;
};

// Ten digits, weights 10..2, sum mod 11, check = 11 - remainder (11 becomes 0, 10 is never valid);
// one repeated digit is no number. Rule: NHS check digit note, published at second hand.
bool is_nhs_number(std::string_view digits);

// Numeric and long dates, NHS numbers, record numbers with a cue word, mail addresses, phone numbers.
// `dates` may be left out where running clocks and case times are expected.
std::vector<IdentifierHit> identifiers_in(std::string_view text);

}  // namespace canalogue
