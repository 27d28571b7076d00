// What identifying text looks like: the formats of numbers and dates, and the names a clinician typed
// in. A hit asks a person to look; it changes no text.
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

// Letters and digits only, lower case, look-alikes of readers made one (O/0, I/l/1, S/5, B/8, Z/2).
std::string reader_form(std::string_view text);

// True when `text` holds `identifier`, compared in reader form, allowing one edit in five characters.
// Identifiers of fewer than four characters must stand alone and match exactly.
bool holds_identifier(std::string_view text, std::string_view identifier);

// As above for text that was written, not read from a picture: line by line; a number must be there
// exactly (lists are full of numbers that are nearly another), a name may still be misspelt. Cue times of
// captions are passed over: strung together their digits make any number.
bool written_with(std::string_view text, std::string_view identifier);

}  // namespace canalogue
