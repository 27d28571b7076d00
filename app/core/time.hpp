// Instants and spans. Integer nanoseconds throughout; seconds as double exist only for display and
// for files whose format wants them. Three clocks that must not be mixed are three types:
//   RecordingTime  from the first presented frame of one recording
//   SessionTime    from the start of the visit (a recording has an offset in it)
//   FilmTime       from the first frame of an exported clip
#pragma once

#include <compare>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "app/core/result.hpp"

namespace canalogue {

using Nanos = std::int64_t;  // a length of time
inline constexpr Nanos kSecond = 1'000'000'000;
inline constexpr Nanos kMillisecond = 1'000'000;

template <class Clock>
struct Instant {
    Nanos ns = 0;
    auto operator<=>(const Instant&) const = default;
    Instant operator+(Nanos d) const { return {ns + d}; }
    Instant operator-(Nanos d) const { return {ns - d}; }
    Nanos operator-(Instant o) const { return ns - o.ns; }
    double seconds() const { return static_cast<double>(ns) / static_cast<double>(kSecond); }
};

// Half open: start is inside, end is not. Empty when end <= start.
template <class Clock>
struct Span {
    Instant<Clock> start, end;
    auto operator<=>(const Span&) const = default;
    Nanos length() const { return end.ns > start.ns ? end.ns - start.ns : 0; }
    bool empty() const { return end.ns <= start.ns; }
    bool holds(Instant<Clock> t) const { return start <= t && t < end; }
    bool meets(const Span& o) const { return start < o.end && o.start < end; }
};

using RecordingTime = Instant<struct RecordingClock>;
using SessionTime = Instant<struct SessionClock>;
using FilmTime = Instant<struct FilmClock>;
using RecordingSpan = Span<struct RecordingClock>;
using SessionSpan = Span<struct SessionClock>;
using FilmSpan = Span<struct FilmClock>;

// Sorted, disjoint, none empty. Touching spans are joined.
template <class Clock>
std::vector<Span<Clock>> united(std::vector<Span<Clock>> spans);

// What of `whole` is not in `parts` (any order, may overlap).
template <class Clock>
std::vector<Span<Clock>> gaps_in(Span<Clock> whole, std::vector<Span<Clock>> parts);

// Rounds to the nearest nanosecond, halves away from zero.
Nanos nanos_from_seconds(double seconds);

// "12.5", "1:02.25", "00:01:02.250" -> nanoseconds. Up to nine decimals; minutes and seconds below
// 60 when a larger unit stands before them; no sign.
Result<Nanos> parse_time(std::string_view text);

// 62.25 s -> "1:02.25"; whole seconds have no decimals; hours appear when there are any.
std::string format_time(Nanos t);
// 62.25 s -> "00:01:02.250" (rounded to the millisecond), as WebVTT wants it.
std::string format_timestamp(Nanos t);
// 62.25 s -> "1:02" (cut to the second): the clock shown to people.
std::string format_clock(Nanos t);

}  // namespace canalogue
