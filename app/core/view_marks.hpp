// How a recording reads where a person has said what is in view: by it the spotter for the outside is set right.
#pragma once

#include <optional>
#include <vector>

#include "app/core/session.hpp"
#include "app/core/trace.hpp"

namespace canalogue {

// The gauge "inside" (0 outside .. 1 inside) at the marks: what nine in ten of the steps marked as inside read at least,
// and what nine in ten of those marked as outside read at most.
struct ViewReads {
    double inside = 0, outside = 0;
};

inline constexpr int kMarksOfEach = 2;

// nullopt: fewer than two marks of each sort, or too little was measured in them.
std::optional<ViewReads> reads_at(const std::vector<ViewMark>& marks, const std::vector<Trace>& inside);

// Whether the two can be told apart at all by what the gauge reads.
bool apart(const ViewReads& reads);

}  // namespace canalogue
