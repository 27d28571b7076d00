#include "plugins/outside/stays.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::outside {

namespace {

// Chosen on labelled sessions that the published figures do not come from; see docs/privacy.md.
constexpr double kOutsideAlone = .3;               // a look below it is outside, whatever its neighbours say
constexpr double kInsideAlone = .95;                // a look above it is inside
constexpr double kInsideTogether = .82;            // of a look with its neighbours; below it one is unsure
constexpr double kMarkedInside = .97, kMarkedOutside = .1;  // what marked looks are made to read, at least and at most
constexpr double kSurelyInside = .9;               // ends the margin around a stay
constexpr double kSurelyOutside = .12;              // below it (what is marked as outside is) another view may shine through beside a sure look
constexpr std::int64_t kTogether = 400'000'000;    // to each side
constexpr std::int64_t kShortest = 800'000'000;    // of a stay inside between two outside

double logit(double p) {
    const double kept = std::clamp(p, .05, .95);  // one very sure look does not outvote several doubts
    return std::log(kept / (1 - kept));
}

// The neighbourhood's likelihood: mean of the logits.
double together(const std::vector<Look>& looks, std::size_t i) {
    double sum = 0, n = 0;
    for (std::size_t j = i; j-- > 0 && looks[i].t_ns - looks[j].t_ns <= kTogether;) sum += logit(looks[j].inside), ++n;
    for (std::size_t j = i; j < looks.size() && looks[j].t_ns - looks[i].t_ns <= kTogether; ++j) sum += logit(looks[j].inside), ++n;
    return 1 / (1 + std::exp(-sum / n));
}

double wide_logit(double p) {
    const double kept = std::clamp(p, .002, .998);
    return std::log(kept / (1 - kept));
}

bool sure(const Look& look) { return look.inside >= kSurelyInside; }

// From the last look that was surely inside and `residue` more, or kMargin before.
std::int64_t sure_before(const std::vector<Look>& looks, std::size_t i, std::int64_t residue) {
    const std::int64_t farthest = looks[i].t_ns - kMargin;
    for (std::size_t j = i; j-- > 0 && looks[j].t_ns > farthest;)
        if (sure(looks[j])) return looks[j].t_ns - residue;
    return farthest;
}

// To the first look that is surely inside and `residue` more, or kMargin after.
std::int64_t sure_after(const std::vector<Look>& looks, std::size_t i, std::int64_t until, std::int64_t residue) {
    for (std::size_t j = i + 1; j < looks.size() && looks[j].t_ns < until + kMargin; ++j)
        if (sure(looks[j])) return looks[j].t_ns + residue;
    return until + kMargin;
}

}  // namespace

std::vector<Look> set_right(std::vector<Look> looks, double marked_inside_reads, double marked_outside_reads) {
    if (marked_inside_reads <= marked_outside_reads) return looks;  // nothing marked, or nothing to go by
    const double low = wide_logit(marked_outside_reads), high = wide_logit(marked_inside_reads);
    // As sure as marks make it: inside just above what counts alone, outside well below what does.
    const double to_low = std::min(low, wide_logit(kMarkedOutside)), to_high = std::max(high, wide_logit(kMarkedInside));
    for (auto& look : looks) look.inside = 1 / (1 + std::exp(-(to_low + (wide_logit(look.inside) - low) * (to_high - to_low) / (high - low))));
    return looks;
}

std::vector<Stay> stays_outside(const std::vector<Look>& looks, std::int64_t end_ns) {
    // Neighbouring looks that are not inside.
    struct Run {
        std::size_t first, last;
        double sureness = 0;
        bool outside = false;  // one of them is surely so
    };
    std::vector<Run> runs;
    bool before = true;  // inside
    for (std::size_t i = 0; i < looks.size(); ++i) {
        const double p = std::min(looks[i].inside, together(looks, i));
        const bool inside = looks[i].inside >= kInsideAlone || (looks[i].inside >= kOutsideAlone && together(looks, i) >= kInsideTogether);
        if (!inside) {
            if (before) runs.push_back({i, i});
            Run& run = runs.back();
            run.last = i;
            run.sureness = std::max(run.sureness, 1 - p);
            run.outside = run.outside || looks[i].inside < kSurelyOutside;
        }
        before = inside;
    }
    std::vector<Stay> out;
    for (const Run& run : runs) {
        const std::int64_t until = run.last + 1 < looks.size() ? looks[run.last + 1].t_ns : end_ns;
        const std::int64_t residue = run.outside ? kResidue : 0;  // what is unsure only has nothing to shine through
        out.push_back({sure_before(looks, run.first, residue), sure_after(looks, run.last, until, residue), run.sureness});
    }
    // What lies between two stays for a moment only is not believed.
    std::vector<Stay> joined;
    for (const auto& stay : out) {
        if (!joined.empty() && stay.start_ns - joined.back().end_ns < kShortest) {
            joined.back().end_ns = stay.end_ns;
            joined.back().sureness = std::max(joined.back().sureness, stay.sureness);
        } else {
            joined.push_back(stay);
        }
    }
    return joined;
}

}  // namespace canalogue::outside
