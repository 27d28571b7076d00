#include "app/core/trace.hpp"

#include <algorithm>
#include <tuple>

namespace canalogue {

namespace {

auto line_of(const Trace& t) { return std::tie(t.recording, t.gauge, t.version, t.channel); }

bool follows(const Trace& before, const Trace& after) {
    return line_of(before) == line_of(after) && before.step == after.step && before.span().end == after.from;
}

}  // namespace

std::vector<Trace> joined(std::vector<Trace> pieces) {
    std::sort(pieces.begin(), pieces.end(), [](const Trace& a, const Trace& b) {
        return std::tuple(line_of(a), a.from) < std::tuple(line_of(b), b.from);
    });
    std::vector<Trace> out;
    for (auto& p : pieces)
        if (!out.empty() && follows(out.back(), p))
            out.back().bytes.insert(out.back().bytes.end(), p.bytes.begin(), p.bytes.end());
        else
            out.push_back(std::move(p));
    return out;
}

}  // namespace canalogue
