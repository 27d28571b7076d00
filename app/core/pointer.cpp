#include "app/core/pointer.hpp"

#include <algorithm>

namespace canalogue {

PointerStep place_at(const Pointer& pointer, RecordingTime t) {
    const auto after = std::upper_bound(pointer.path.begin(), pointer.path.end(), t, [](RecordingTime at, const PointerStep& s) { return at < s.at; });
    if (after == pointer.path.begin()) return {t, pointer.path.front().x, pointer.path.front().y};
    const PointerStep& a = *(after - 1);
    if (after == pointer.path.end()) return {t, a.x, a.y};
    const double u = static_cast<double>(t - a.at) / static_cast<double>(after->at - a.at);
    return {t, a.x + (after->x - a.x) * u, a.y + (after->y - a.y) * u};
}

std::string fault_of(const Pointer& p, const RecordingSpan& passage) {
    if (p.path.empty()) return "a pointer has no place";
    if (p.until < p.from) return "a pointer's 'until' is earlier than its 'from'";
    if (p.from >= passage.end || p.until < passage.start) return "a pointer at " + format_time(p.from.ns) + " lies outside the passage, which goes from " + format_time(passage.start.ns) + " to " + format_time(passage.end.ns);
    if (p.shape == PointerShape::words && p.text.empty()) return "a pointer of words has none";
    for (const auto& s : p.path)
        if (!(s.x >= 0 && s.x <= 1 && s.y >= 0 && s.y <= 1)) return "a pointer lies outside the picture, which goes from 0 to 1 both ways";
    const bool ordered = std::is_sorted(p.path.begin(), p.path.end(), [](const PointerStep& a, const PointerStep& b) { return a.at <= b.at; });
    return ordered || p.path.size() == 1 ? "" : "a pointer's places are not in order of time";
}

}  // namespace canalogue
