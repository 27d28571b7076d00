// A line under a field whose words could tell who the patient is. Window's thread.
#pragma once

#include <map>
#include <string>

#include "app/editor/workplace.hpp"

namespace canalogue::editor {

// Draws nothing where nothing is seen. The sealed names count only while the library is unlocked.
void warn_of(Workplace& w, const std::string& text);

// A field of this name for a text of the plan: what is typed is looked over as it is typed. True when it was finished and
// differs: `text` is then the new one. `drafts` holds what is being typed, by name.
bool edited(Workplace& w, std::map<std::string, std::string>& drafts, const std::string& name, std::string& text, const char* hint);

}  // namespace canalogue::editor
