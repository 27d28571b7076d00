// Scanning: the spotters look at what they have not finished yet, span by span. What a spotter could
// not finish stays unscanned, and unscanned means covered.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct ScanReport {
    int found = 0;                      // new suspects
    Nanos scanned = 0;                  // recording time, summed over spotters
    std::vector<std::string> troubles;  // sentences: what stays unscanned and why
};

// Cancelled: what was finished before is kept, and the next scan goes on from there.
Result<ScanReport> scan(Desk& desk, const std::string& session, const Progress& progress);

}  // namespace canalogue::desk
