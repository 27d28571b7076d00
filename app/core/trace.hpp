// What a gauge measured over time: one byte a step. A plain value; computed again from the recording
// whenever it is lost or the gauge changes.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "app/core/time.hpp"

namespace canalogue {

// A line of measurements as its gauge describes it.
struct Channel {
    std::string id;    // letters, digits, _ and -
    std::string name;  // for people
    std::string unit;  // "dBFS", or in words what the two ends mean
    double low = 0, high = 1;  // what 0 and 1 stand for, in that unit
    Nanos step = 0;
    bool operator==(const Channel&) const = default;
};

struct Trace {
    static constexpr std::uint8_t kNotMeasured = 255;
    static constexpr double kTop = 254;  // the byte that stands for 1

    std::string recording;
    std::string gauge, version;  // plugin id and version
    std::string channel;
    Nanos step = 0;
    RecordingTime from;               // the first step begins here
    std::vector<std::uint8_t> bytes;  // 0 .. 254 stand for 0 .. 1
    bool operator==(const Trace&) const = default;

    RecordingTime time(std::size_t i) const { return from + step * static_cast<Nanos>(i); }
    RecordingSpan span() const { return {from, time(bytes.size())}; }
    // Of step i, 0..1; nullopt where nothing was measured.
    std::optional<double> value(std::size_t i) const {
        if (bytes[i] == kNotMeasured) return std::nullopt;
        return bytes[i] / kTop;
    }
    // value: 0..1, or NaN for not measured.
    static std::uint8_t byte_of(double value) {
        return value >= 0 ? static_cast<std::uint8_t>(value * kTop + .5) : kNotMeasured;
    }
};

// Joins pieces of one line that follow one another without a gap or an overlap; the rest stays apart.
// In order of recording, gauge, version, channel and time.
std::vector<Trace> joined(std::vector<Trace> pieces);

}  // namespace canalogue
