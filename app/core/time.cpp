#include "app/core/time.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace canalogue {

namespace {

constexpr Nanos kMinute = 60 * kSecond;
constexpr Nanos kHour = 60 * kMinute;

// Digits only; -1 when empty, too long for the clock, or something else stands there.
std::int64_t whole_number(std::string_view digits) {
    if (digits.empty() || digits.size() > 9) return -1;
    std::int64_t n = 0;
    for (char c : digits) {
        if (c < '0' || c > '9') return -1;
        n = n * 10 + (c - '0');
    }
    return n;
}

// "25" -> 250,000,000 ns; -1 when not one to nine digits.
Nanos decimals(std::string_view digits) {
    Nanos n = whole_number(digits);
    if (n < 0) return -1;
    for (std::size_t i = digits.size(); i < 9; ++i) n *= 10;
    return n;
}

}  // namespace

template <class Clock>
std::vector<Span<Clock>> united(std::vector<Span<Clock>> spans) {
    std::erase_if(spans, [](const auto& s) { return s.empty(); });
    std::sort(spans.begin(), spans.end());
    std::vector<Span<Clock>> out;
    for (const auto& s : spans) {
        if (!out.empty() && s.start <= out.back().end)
            out.back().end = std::max(out.back().end, s.end);
        else
            out.push_back(s);
    }
    return out;
}

template <class Clock>
std::vector<Span<Clock>> gaps_in(Span<Clock> whole, std::vector<Span<Clock>> parts) {
    std::vector<Span<Clock>> out;
    auto at = whole.start;
    for (const auto& part : united(std::move(parts))) {
        if (part.end <= at) continue;
        if (part.start >= whole.end) break;
        if (part.start > at) out.push_back({at, part.start});
        at = part.end;
    }
    if (at < whole.end) out.push_back({at, whole.end});
    return out;
}

template std::vector<RecordingSpan> united(std::vector<RecordingSpan>);
template std::vector<SessionSpan> united(std::vector<SessionSpan>);
template std::vector<FilmSpan> united(std::vector<FilmSpan>);
template std::vector<RecordingSpan> gaps_in(RecordingSpan, std::vector<RecordingSpan>);
template std::vector<SessionSpan> gaps_in(SessionSpan, std::vector<SessionSpan>);
template std::vector<FilmSpan> gaps_in(FilmSpan, std::vector<FilmSpan>);

Nanos nanos_from_seconds(double seconds) {
    return static_cast<Nanos>(std::llround(seconds * static_cast<double>(kSecond)));
}

Result<Nanos> parse_time(std::string_view text) {
    const Failure bad = wrong_use("'" + std::string(text) +
                                  "' is not a time: write seconds (12.5), minutes (1:02.25) or "
                                  "hours (00:01:02.250).");
    std::string_view rest = text;
    Nanos fraction = 0;
    if (auto dot = rest.find('.'); dot != std::string_view::npos) {
        fraction = decimals(rest.substr(dot + 1));
        rest = rest.substr(0, dot);
    }
    if (fraction < 0) return bad;
    std::vector<std::int64_t> parts;
    for (std::size_t at = 0; at <= rest.size();) {
        auto colon = std::min(rest.find(':', at), rest.size());
        parts.push_back(whole_number(rest.substr(at, colon - at)));
        at = colon + 1;
    }
    if (parts.size() > 3) return bad;
    Nanos total = 0;
    for (std::size_t i = 0; i < parts.size(); ++i) {
        if (parts[i] < 0 || (i > 0 && parts[i] >= 60)) return bad;
        total = total * 60 + parts[i];
    }
    if (total > 1'000'000'000) return bad;  // some thirty years: a slip of the keyboard
    return total * kSecond + fraction;
}

std::string format_clock(Nanos t) {
    const bool negative = t < 0;
    if (negative) t = -t;
    char text[64];
    const auto h = static_cast<long>(t / kHour), m = static_cast<long>(t / kMinute % 60),
               s = static_cast<long>(t / kSecond % 60);
    if (h > 0)
        std::snprintf(text, sizeof text, "%s%ld:%02ld:%02ld", negative ? "-" : "", h, m, s);
    else
        std::snprintf(text, sizeof text, "%s%ld:%02ld", negative ? "-" : "", m, s);
    return text;
}

std::string format_time(Nanos t) {
    std::string text = format_clock(t);
    Nanos rest = (t < 0 ? -t : t) % kSecond;
    if (rest == 0) return text;
    char digits[16];
    std::snprintf(digits, sizeof digits, ".%09lld", static_cast<long long>(rest));
    text += digits;
    while (text.back() == '0') text.pop_back();
    return text;
}

std::string format_timestamp(Nanos t) {
    const Nanos ms = (std::max<Nanos>(t, 0) + kMillisecond / 2) / kMillisecond;
    char text[64];
    std::snprintf(text, sizeof text, "%02lld:%02lld:%02lld.%03lld", static_cast<long long>(ms / 3'600'000),
                  static_cast<long long>(ms / 60'000 % 60), static_cast<long long>(ms / 1000 % 60),
                  static_cast<long long>(ms % 1000));
    return text;
}

}  // namespace canalogue
