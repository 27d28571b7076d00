// Which fields of a file may identify somebody. Everything may, but for what is listed as neutral:
// a tag nobody foresaw is a suspect.
#pragma once

#include <string>
#include <string_view>

namespace canalogue::file_fields {

// A field's name split at its first colon: "stream 0: handler_name" -> {"stream 0", "handler_name"}.
struct FieldName {
    std::string place;  // lower case
    std::string tag;    // lower case
};
FieldName split(std::string_view name);

// How surely the field identifies somebody, 0..1; 0: it is neutral and no suspect.
double sureness_of(const FieldName& name, std::string_view value);

// Whether a file, folder or chapter name is made only of words such as "ear", "left" or "clip" and
// at most four digits, which nobody can be known by.
bool plain_name(std::string_view name);

}  // namespace canalogue::file_fields
