// A line under a field whose words could tell who the patient is. Window's thread.
#pragma once

#include <string>

#include "app/editor/workplace.hpp"

namespace canalogue::editor {

// Draws nothing where nothing is seen. The sealed names count only while the library is unlocked.
void warn_of(Workplace& w, const std::string& text);

}  // namespace canalogue::editor
