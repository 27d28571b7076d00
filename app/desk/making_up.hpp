// A make-up from and to a file (core/make_up).
#pragma once

#include <filesystem>

#include "app/core/make_up.hpp"

namespace canalogue::desk {

// Writes the plan's. Other words that stood in the file are kept under a numbered name beside it, which is returned (empty
// when there was nothing to keep).
Result<std::filesystem::path> keep_make_up(const Plan& plan, const std::filesystem::path& file);

// The plan with the make-up of that file. Refuses, naming the file, what cannot be read.
Result<Plan> made_up(Plan plan, const std::filesystem::path& file);

}  // namespace canalogue::desk
