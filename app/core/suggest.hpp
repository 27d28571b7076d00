// What traces suggest: that the scope left the ear or came back, that its lens was smeared or the view
// regained. Pure rules over measurements; a suggestion counts for nothing until a person accepts it.
#pragma once

#include <string>
#include <vector>

#include "app/core/session.hpp"
#include "app/core/trace.hpp"

namespace canalogue {

struct Suggestion {
    std::string kind;  // "scope-out", "scope-in", "lens-smeared" or "lens-wiped"
    std::string recording;
    RecordingTime at;
    bool operator==(const Suggestion&) const = default;
};

// From the channels "inside" and "clarity" (core/trace.hpp), each step taken as the median of the second
// around it; what was not measured changes nothing. A state is left only past a second threshold
// (hysteresis), so that a value that hovers makes one suggestion, not ten:
//   inside   left below .5 (unsure counts as outside), entered above .7
//   clarity  of steps inside, against the better moments of the same recording (its 90 % point):
//            smeared when below .72 of it for 0.6 s, regained above .86
// In order of recording and time.
std::vector<Suggestion> suggestions_from(const std::vector<Trace>& traces);

// Whether one of that kind stands, or stood until somebody dismissed it, within 1.5 s of it.
bool said_already(const Suggestion& s, const std::vector<Event>& events, const std::vector<Dismissed>& dismissed);

}  // namespace canalogue
