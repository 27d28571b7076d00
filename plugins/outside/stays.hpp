// From single answers to spans: where the scope is not surely inside an ear.
#pragma once

#include <cstdint>
#include <vector>

namespace canalogue::outside {

// What one picture looks like: 0 outside .. 1 inside.
struct Look {
    std::int64_t t_ns = 0;
    double inside = 0;
};

struct Stay {
    std::int64_t start_ns = 0, end_ns = 0;  // half open; may reach over the looks, by the margin
    double sureness = 0;                    // that it is outside
};

// Three answers: inside, outside, unsure; unsure counts as outside. A look that is surely outside, or
// very surely inside, is so by itself; any other is judged with its neighbours. A moment inside between two moments outside is outside.
// Each stay begins before the change and ends after it: at the next look that is surely inside, where anything was surely outside
// by kResidue beyond it (something of the other view may shine through still), or by kMargin where none is as near.
// looks: in order of time, those of one span; the span ends at end_ns.
std::vector<Stay> stays_outside(const std::vector<Look>& looks, std::int64_t end_ns);

// The looks as they are to be judged where a person has marked what is inside and what is outside: stretched so that what
// was marked as inside is surely so and what was marked as outside is not. Both readings 0, or well apart already: as they were.
std::vector<Look> set_right(std::vector<Look> looks, double marked_inside_reads, double marked_outside_reads);

inline constexpr std::int64_t kMargin = 400'000'000, kResidue = 100'000'000;

}  // namespace canalogue::outside
