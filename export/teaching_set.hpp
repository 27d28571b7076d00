// A teaching set: cases in order for a course, told by one page that links to theirs.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/core/result.hpp"

namespace canalogue::film {

inline constexpr const char* kTeachingSetFile = "index.html";

// A finished export as a set tells it.
struct SetCase {
    std::string title, language;
    std::vector<std::string> aims;
    double seconds = 0;
    bool has_handout = false;
};

// Reads an export folder's manifest and page. Refuses what is no export, one for the care team or a patient, and one
// without a case page.
Result<SetCase> read_set_case(const std::filesystem::path& folder);

// Writes the page into `folder`, which is made; the exports stay where they are and are linked to by relative names, so
// all of it can be moved together. `title` may be empty. Replaces only a page of its own; where that lies now
// is returned, empty when there was none or it was the same.
Result<std::filesystem::path> write_teaching_set(const std::filesystem::path& folder, const std::string& title, const std::vector<std::filesystem::path>& exports);

}  // namespace canalogue::film
