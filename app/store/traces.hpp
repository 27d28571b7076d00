// The table of traces: what gauges measured, piece by piece. Not journalled, since it can be measured
// again; not sealed, since it tells nobody's name. Internal to app/store.
#pragma once

#include <vector>

#include "app/core/trace.hpp"
#include "app/store/database.hpp"

namespace canalogue::store {

// All throw DatabaseTrouble.
void write_traces(Database& db, const std::string& session, const std::vector<Trace>& pieces);
std::vector<Trace> read_traces(Database& db, const std::string& session);
void erase_traces(Database& db, const std::string& session);

}  // namespace canalogue::store
