#include "app/core/view_marks.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue {

namespace {

constexpr std::size_t kFewestSteps = 4;  // of each sort
constexpr double kApart = .2;            // of the readings; nearer ones are no ground to judge by

std::vector<double> values_in(const std::vector<ViewMark>& marks, bool inside, const std::vector<Trace>& traces) {
    std::vector<double> out;
    for (const auto& t : traces)
        for (std::size_t i = 0; i < t.bytes.size(); ++i)
            for (const auto& m : marks)
                if (const auto v = t.value(i); m.inside == inside && v && m.span.holds(t.time(i))) out.push_back(*v);
    std::sort(out.begin(), out.end());
    return out;
}

double at_share(const std::vector<double>& sorted, double share) { return sorted[static_cast<std::size_t>(std::lround(share * static_cast<double>(sorted.size() - 1)))]; }

}  // namespace

std::optional<ViewReads> reads_at(const std::vector<ViewMark>& marks, const std::vector<Trace>& inside) {
    const auto of = [&](bool sort) { return std::count_if(marks.begin(), marks.end(), [&](const ViewMark& m) { return m.inside == sort; }); };
    if (of(true) < kMarksOfEach || of(false) < kMarksOfEach) return std::nullopt;
    const auto in = values_in(marks, true, inside), out = values_in(marks, false, inside);
    if (in.size() < kFewestSteps || out.size() < kFewestSteps) return std::nullopt;
    return ViewReads{at_share(in, .1), at_share(out, .9)};
}

bool apart(const ViewReads& reads) { return reads.inside - reads.outside >= kApart; }

}  // namespace canalogue
