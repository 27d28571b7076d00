// Known identifiers, which the clinician typed in, compared with text that was read, written or heard.
// A hit asks a person to look; it changes no text.
#pragma once

#include <string>
#include <string_view>

namespace canalogue {

// `part`: a word of four letters or more of a name of several words, as a surname alone, or the digits of a
// number that was sealed with letters. One that is an
// everyday word counts only with a capital inside a sentence ("Mr Brown", not "brown wax").
enum class Holding { nothing, part, whole };
std::string_view name_of(Holding h);  // "known identifier", "part of a known identifier"

// Letters and digits only, lower case, look-alikes of readers made one (O/0, I/l/1, S/5, B/8, Z/2).
std::string reader_form(std::string_view text);

// Text that was read from a picture or stands in a name, compared in reader form, allowing one edit in
// five characters. Identifiers of fewer than four characters must stand alone and match exactly.
Holding read_with(std::string_view text, std::string_view identifier);

// Text that was written or spoken, line by line and over the ends of lines: a number must be there exactly
// (lists are full of numbers that are nearly another), in digits or spoken digit by digit; a name may be
// misspelt. Cue times and numbers of captions are passed over: strung together their digits make any number.
Holding written_with(std::string_view text, std::string_view identifier);

// "four four, one seven" as "44, 17"; "double four" as "44", "oh" as 0 among other digits.
std::string spoken_digits_written(std::string_view text);

}  // namespace canalogue
