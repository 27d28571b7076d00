// A pointer to something in the picture: it follows what it points at along a path, and fades in and out.
#pragma once

#include <string>
#include <vector>

#include "app/core/close_up.hpp"
#include "app/core/time.hpp"

namespace canalogue {

enum class PointerShape { arrow, ring, outline, words };

// Where the thing is at an instant, in shares of the whole upright picture as recorded.
struct PointerStep {
    RecordingTime at;
    double x = 0.5, y = 0.5;
    bool operator==(const PointerStep&) const = default;
};

struct Pointer {
    PointerShape shape = PointerShape::ring;
    RecordingTime from, until;
    std::vector<PointerStep> path;  // at least one, in order; before the first and after the last it stands still
    double w = 0.1, h = 0.1;        // of a ring or an outline, in shares
    std::string text;               // beside it, on a leader; may be empty but for `words`
};

inline constexpr Nanos kPointerFade = 300 * kMillisecond;  // of film time

// Between two steps it goes straight.
PointerStep place_at(const Pointer& pointer, RecordingTime t);

// What is wrong with it in a passage of this span, as the end of a sentence; empty when nothing is.
std::string fault_of(const Pointer& pointer, const RecordingSpan& passage);

}  // namespace canalogue
