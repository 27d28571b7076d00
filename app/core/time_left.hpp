// How long a step that takes a while will go on, judged by how far it came so far.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

namespace canalogue {

// `done`: 0..1 of the step. None while it is too early to say, and when it is nearly over.
inline std::optional<std::chrono::nanoseconds> time_left(std::chrono::nanoseconds since_begin, double done) {
    using namespace std::chrono_literals;
    if (since_begin < 4s || done < 0.02 || done >= 1) return std::nullopt;
    const std::chrono::nanoseconds left(static_cast<std::int64_t>(static_cast<double>(since_begin.count()) * (1 - done) / done));
    if (left < 3s) return std::nullopt;
    // To five seconds: a figure that flickers helps nobody.
    return std::chrono::nanoseconds((left.count() + 2'500'000'000) / 5'000'000'000 * 5'000'000'000);
}

}  // namespace canalogue
