// All that an export holds for learners and for whoever publishes it: the case page, the handout, publishing/.
#pragma once

#include <filesystem>

#include "app/core/plan.hpp"
#include "export/case_page.hpp"

namespace canalogue::film {

// Into a folder that has its film, stills and poster. Nothing to publish is made for an audience that may see who
// it is.
Result<void> write_learner_files(const std::filesystem::path& folder, const CasePage& page, const Plan& plan, Audience audience);

}  // namespace canalogue::film
