// Words that people type and names that files carry: what may be stored and shown.
#pragma once

#include <string>
#include <string_view>

#include "app/core/result.hpp"

namespace canalogue {

// Well-formed UTF-8 (RFC 3629: no overlong forms, no surrogates, nothing above U+10FFFF). A zero byte
// counts as ill-formed: no text here holds one.
bool is_utf8(std::string_view text);

// `text` for a screen: what is no UTF-8 becomes '?', control characters become blanks.
std::string legible(std::string_view text);

// Free text as it is stored: one line, without control characters and without blanks at its ends.
// Refuses what is no UTF-8; `what` names it in the refusal ("The note").
Result<std::string> one_line(std::string_view text, const std::string& what);

// How many letters are in it: what was only dots and blanks is no name and no reason. Every byte of a letter
// beyond ASCII counts.
std::size_t letters_in(std::string_view text);

// A file's path as text that can be stored whatever its bytes are, and back.
std::string stored_path(std::string_view path);
std::string path_from_stored(std::string_view stored);

}  // namespace canalogue
