#include "app/core/suggest.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <tuple>

namespace canalogue {

namespace {

constexpr double kOutBelow = .5, kInAbove = .7;
constexpr double kSmearedBelow = .72, kClearAbove = .86;  // measured on drawn sessions
constexpr Nanos kSmearHolds = 600 * kMillisecond;  // a tool that passes before the lens is sooner gone
constexpr double kBetterMoments = .9;
constexpr Nanos kAround = kSecond / 2;
constexpr Nanos kNear = 1500 * kMillisecond;

struct Sample {
    RecordingTime t;
    double value;
};
using Line = std::vector<Sample>;

// The measured steps of a channel, by recording, in order of time.
std::map<std::string, Line> lines_of(const std::vector<Trace>& traces, const std::string& channel) {
    std::map<std::string, Line> out;
    for (const auto& t : traces) {
        if (t.channel != channel) continue;
        for (std::size_t i = 0; i < t.bytes.size(); ++i)
            if (const auto v = t.value(i)) out[t.recording].push_back({t.time(i), *v});
    }
    for (auto& [recording, line] : out)
        std::stable_sort(line.begin(), line.end(), [](const Sample& a, const Sample& b) { return a.t < b.t; });
    return out;
}

double point(std::vector<double> values, double share) {
    const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

Line medians(const Line& line) {
    Line out = line;
    std::size_t first = 0, end = 0;
    for (std::size_t i = 0; i < line.size(); ++i) {
        while (line[first].t + kAround < line[i].t) ++first;
        while (end < line.size() && line[end].t <= line[i].t + kAround) ++end;
        std::vector<double> near;
        for (std::size_t k = first; k < end; ++k) near.push_back(line[k].value);
        out[i].value = point(std::move(near), .5);
    }
    return out;
}

// When `line` falls below one threshold (and stays there for `hold`) and rises above the other, in turn.
// The state it begins in suggests nothing.
struct Turn {
    RecordingTime t;
    bool down;
};
std::vector<Turn> turns(const Line& line, double down_below, double up_above, Nanos hold) {
    std::vector<Turn> out;
    std::optional<bool> down;
    std::optional<RecordingTime> fell;
    for (const auto& s : line) {
        const bool low = s.value < down_below, rises = s.value > up_above;
        if (!low) fell.reset();
        else if (!fell) fell = s.t;
        const bool falls = low && s.t - *fell >= hold;
        if (falls && down == false) out.push_back({*fell, true});
        if (rises && down == true) out.push_back({s.t, false});
        if (falls || rises) down = falls;
    }
    return out;
}

// The steps of `line` at which the scope is inside; all of them when nothing tells.
Line while_inside(const Line& line, const Line* inside) {
    if (!inside) return line;
    Line out;
    std::size_t i = 0;
    for (const auto& s : line) {
        while (i + 1 < inside->size() && (*inside)[i + 1].t <= s.t) ++i;
        if ((*inside)[i].value >= kOutBelow) out.push_back(s);
    }
    return out;
}

Line against_better_moments(Line line) {
    if (line.empty()) return line;
    std::vector<double> values;
    for (const auto& s : line) values.push_back(s.value);
    const double best = point(std::move(values), kBetterMoments);
    if (best <= 0) return {};
    for (auto& s : line) s.value /= best;
    return line;
}

}  // namespace

std::vector<Suggestion> suggestions_from(const std::vector<Trace>& traces) {
    std::vector<Suggestion> out;
    auto inside = lines_of(traces, "inside");
    for (auto& [recording, line] : inside) {
        line = medians(line);
        for (const auto& turn : turns(line, kOutBelow, kInAbove, 0))
            out.push_back({turn.down ? "scope-out" : "scope-in", recording, turn.t});
    }
    for (const auto& [recording, line] : lines_of(traces, "clarity")) {
        const auto found = inside.find(recording);
        const Line clear = against_better_moments(medians(while_inside(line, found == inside.end() ? nullptr : &found->second)));
        for (const auto& turn : turns(clear, kSmearedBelow, kClearAbove, kSmearHolds))
            out.push_back({turn.down ? "lens-smeared" : "lens-wiped", recording, turn.t});
    }
    std::stable_sort(out.begin(), out.end(), [](const Suggestion& a, const Suggestion& b) {
        return std::tie(a.recording, a.at) < std::tie(b.recording, b.at);
    });
    return out;
}

bool said_already(const Suggestion& s, const std::vector<Event>& events, const std::vector<Dismissed>& dismissed) {
    const auto near = [&](const auto& other) {
        return other.kind == s.kind && other.recording == s.recording && std::max(other.at - s.at, s.at - other.at) <= kNear;
    };
    return std::any_of(events.begin(), events.end(), near) || std::any_of(dismissed.begin(), dismissed.end(), near);
}

}  // namespace canalogue
