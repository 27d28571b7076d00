// Gauging: the gauges measure what they have not measured yet; what they measured suggests events.
#pragma once

#include <map>

#include "app/core/cover.hpp"
#include "app/core/trace.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct GaugeReport {
    Nanos measured = 0;                 // recording time, summed over gauges
    std::vector<std::string> troubles;  // sentences: what is not measured and why
};

// In spans of ten seconds at most, each kept when it is done. Cancelled: the next call goes on from
// there, and gives the same bytes as if nothing had happened.
Result<GaugeReport> measure(Desk& desk, const std::string& session, const Progress& progress);

// The gauges that look at pictures measure what is left to see under these covers, outside whole ones; kept beside the other
// traces under a version of their own ("3 of covered 1f2e..."), and read from there when the covers are the same.
struct CoveredTraces {
    std::vector<Trace> traces;
    std::vector<std::string> troubles;  // sentences: what is not measured and why
};
Result<CoveredTraces> measure_covered(Desk& desk, const std::string& session, const std::map<std::string, Covers>& covers, const Progress& progress);

// At the current version of each installed gauge; pieces that follow one another joined.
Result<std::vector<Trace>> traces(Desk& desk, const std::string& session);

// A channel of one recording in a few numbers, of what was measured.
struct GaugeSummary {
    std::string recording, gauge, channel;
    double mean = 0;       // 0..1
    double low_share = 0;  // of the time below a half; of "inside": outside or unsure
    Nanos measured = 0;
};
std::vector<GaugeSummary> summaries_of(const std::vector<Trace>& traces);

struct SuggestReport {
    std::vector<Event> made;
    std::vector<std::string> troubles;  // sentences: what could not be suggested
};
// Events of origin "suggestion" from the traces (core/suggest.hpp), in one undoable commit; none where
// one of its kind stands, or was dismissed, within 1.5 s.
Result<SuggestReport> suggest(Desk& desk, const std::string& session);

// The suggestions go, and are not made again; undoable, in one commit. Refuses what is no suggestion
// (any more), and then dismisses none.
Result<void> dismiss_suggestions(Desk& desk, const std::string& session, const std::vector<std::string>& events);

}  // namespace canalogue::desk
