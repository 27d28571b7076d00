// Chance that repeats: the same seed gives the same numbers on every machine, which the standard
// library's distributions do not promise. Not thread-safe; give each user its own.
#pragma once

#include <cmath>
#include <cstdint>

namespace canalogue::demo {

class Chance {
public:
    explicit Chance(std::uint64_t seed) : state_(seed * 0x9E3779B97F4A7C15ULL + 0x632BE59BD9B4E019ULL) {}

    // SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
    std::uint64_t bits() {
        std::uint64_t z = (state_ += 0x9E3779B97F4A7C15ULL);
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
        return z ^ (z >> 31);
    }

    float unit() { return static_cast<float>(bits() >> 40) * (1.0f / 16777216.0f); }  // [0, 1)
    float between(float low, float high) { return low + (high - low) * unit(); }

    // Near enough to a normal spread (mean 0, deviation 1): twelve unit draws.
    float spread() {
        float sum = -6;
        for (int i = 0; i < 12; ++i) sum += unit();
        return sum;
    }

private:
    std::uint64_t state_;
};

}  // namespace canalogue::demo
