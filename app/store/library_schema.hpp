// The tables of library.sqlite. Internal to app/store.
#pragma once

#include "app/store/database.hpp"

namespace canalogue::store {

inline constexpr std::int64_t kSchemaVersion = 2;

// Makes the tables of a new library, adds to an older one what it lacks; refuses one written by a later version of the program.
Result<void> prepare_schema(Database& db);

}  // namespace canalogue::store
