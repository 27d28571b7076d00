// What was covered in a film, as counts. Computed from the cover geometry and the plan alone, so that
// it tells nothing about what lies under the covers.
#pragma once

#include <vector>

#include "export/picture_source.hpp"
#include "export/schedule.hpp"

namespace canalogue::film {

struct CoverReport {
    int boxes = 0;             // distinct covers over a part of the picture that the film shows
    Nanos boxed = 0;           // film time with at least one of them
    Nanos whole = 0;           // film time with the whole picture covered
    int hushed = 0;            // stretches of sound that were hushed (original sound in the film only)
    bool original_sound = false;
};

CoverReport report_covers(const Plan& plan, const Schedule& schedule, const std::vector<SourceRecording>& sources);

}  // namespace canalogue::film
