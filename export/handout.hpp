// The handout: two A4 pages to take along.
#pragma once

#include <filesystem>

#include "app/core/result.hpp"
#include "export/case_page.hpp"

namespace canalogue::film {

inline constexpr const char* kHandoutFile = "handout.pdf";

// Writes it into the export folder, whose stills it shows. Small type when there is much to say; what does not fit even
// so is left out with a line that sends the reader to the case page. The same page gives the same bytes: no dates, no
// names in its fields.
Result<void> write_handout(const std::filesystem::path& folder, const CasePage& page);

}  // namespace canalogue::film
