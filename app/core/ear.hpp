// Which ear, and where in it. The wrong side is the worst mistake, so a side is never defaulted.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "app/core/result.hpp"

namespace canalogue {

enum class Ear { right, left };

std::string_view name_of(Ear ear);             // "right"
std::string_view letter_of(Ear ear);           // "R"
Result<Ear> ear_named(std::string_view name);  // "right", "left", "r", "l", any case
inline Ear other(Ear ear) { return ear == Ear::right ? Ear::left : Ear::right; }

// The quadrant a clock hour (1..12, facing the ear) lies in: right 12-3 antero-superior, 3-6
// antero-inferior, 6-9 postero-inferior, 9-12 postero-superior; the left ear is the mirror image
// (hour -> 12 - hour). Derived from anatomy, from memory; strict quadrants follow the malleus handle,
// so an hour gives a default, not a fact.
std::string_view quadrant_of(Ear ear, int hour);

// The hour of a mirrored view: 12 and 6 stay.
inline int mirrored_hour(int hour) { return hour == 12 ? 12 : 12 - hour; }

}  // namespace canalogue
