// How what lies around a cover flows into it. Plain arithmetic on cells; no pictures here.
#pragma once

#include <cstddef>
#include <vector>

// The loops that every covered sample goes through are built for wider registers as well, and the machine takes what it has.
// Without fused multiplication all give the same bytes. (The thread sanitizer cannot live with functions that are chosen at load.)
#if defined(__x86_64__) && !defined(__SANITIZE_THREAD__)
#define CANALOGUE_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define CANALOGUE_WIDE
#endif

namespace canalogue::film {

// A picture of values of which some are known. Halving keeps the mean of what is known; growing back
// gives the unknown the smooth mean of a coarser picture: what is known flows inwards from the border
// (the pull-push scheme of image-based rendering). Nothing unknown is ever read.
struct Known {
    int w = 0, h = 0;
    std::vector<float> value, weight;  // weight 1: known; 0: unknown
    Known(int width, int height) : w(width), h(height), value(static_cast<std::size_t>(w) * h, 0.0f), weight(value.size(), 0.0f) {}
    std::size_t at(int x, int y) const { return static_cast<std::size_t>(y) * static_cast<std::size_t>(w) + static_cast<std::size_t>(x); }
};

// Fills what is unknown. False: nothing is known at all.
bool flow_in(Known& k);

}  // namespace canalogue::film
