#include "app/plugin_host/measurement_check.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>

#include "app/core/text.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue {

namespace {

using Nonsense = std::string;  // empty: none
constexpr std::size_t kMostIdBytes = 64, kMostNameBytes = 200;

bool fit_as_id(const std::string& id) {
    return !id.empty() && id.size() <= kMostIdBytes && std::all_of(id.begin(), id.end(), [](unsigned char c) {
        return std::isalnum(c) || c == '_' || c == '-';
    });
}

bool fit_to_show(const std::string& text) {
    return text.size() <= kMostNameBytes && is_utf8(text) &&
           std::none_of(text.begin(), text.end(), [](unsigned char c) { return c < ' '; });
}

Channel read_channel(wire::Reader& in) {
    Channel c;
    c.id = in.text();
    c.name = in.text();
    c.unit = in.text();
    c.low = in.number<double>();
    c.high = in.number<double>();
    c.step = in.number<std::int64_t>();
    return c;
}

// The last of `channels`.
Nonsense check_channel(const std::vector<Channel>& channels) {
    const Channel& c = channels.back();
    if (!fit_as_id(c.id)) return "a channel without a proper id";
    if (std::any_of(channels.begin(), channels.end() - 1, [&](const Channel& b) { return b.id == c.id; }))
        return "two channels with one id";
    if (c.name.empty() || !fit_to_show(c.name) || !fit_to_show(c.unit)) return "a channel without a proper name";
    if (!std::isfinite(c.low) || !std::isfinite(c.high) || !(c.low < c.high)) return "a channel without two ends";
    if (c.step < CANALOGUE_SHORTEST_STEP_NS || c.step > CANALOGUE_LONGEST_STEP_NS)
        return "a channel with steps of no use";
    return {};
}

std::size_t steps_in(RecordingSpan span, Nanos step) {
    return static_cast<std::size_t>((span.length() + step - 1) / step);
}

Nonsense read_values(wire::Reader& in, Trace& trace) {
    if (in.number<std::uint32_t>() != trace.bytes.size()) return "another number of values than steps";
    for (auto& byte : trace.bytes) {
        const auto value = in.number<float>();
        if (!in.sound()) return "an answer cut short";
        if (value < 0 || value > 1) return "a value that is not between 0 and 1";
        byte = Trace::byte_of(value);
    }
    return {};
}

Nonsense read_channels(wire::Reader& in, std::vector<Trace>& traces) {
    const auto count = in.number<std::uint32_t>();
    if (count > traces.size()) return "more channels than it has";
    std::vector<bool> seen(traces.size());
    for (std::uint32_t i = 0; i < count; ++i) {
        const auto channel = in.number<std::uint32_t>();
        if (!in.sound()) return "an answer cut short";
        if (channel >= traces.size()) return "a channel that it does not have";
        if (seen[channel]) return "a channel measured twice";
        seen[channel] = true;
        if (auto wrong = read_values(in, traces[channel]); !wrong.empty()) return wrong;
    }
    if (!in.sound() || !in.at_end()) return "an answer of the wrong length";
    return {};
}

}  // namespace

CheckedChannels check_channels(wire::Reader& in) {
    CheckedChannels out;
    const auto count = in.number<std::uint32_t>();
    if (count == 0 || count > CANALOGUE_MOST_CHANNELS) out.nonsense = "no channel, or too many";
    for (std::uint32_t i = 0; i < count && out.nonsense.empty(); ++i) {
        out.channels.push_back(read_channel(in));
        out.nonsense = in.sound() ? check_channel(out.channels) : "an introduction cut short";
    }
    return out;
}

CheckedMeasurements check_measurements(const std::vector<std::uint8_t>& body,
                                       const std::vector<Channel>& channels, RecordingSpan offered) {
    CheckedMeasurements out;
    for (const auto& c : channels) {
        Trace trace;
        trace.channel = c.id;
        trace.step = c.step;
        trace.from = offered.start;
        trace.bytes.assign(steps_in(offered, c.step), Trace::kNotMeasured);
        out.traces.push_back(std::move(trace));
    }
    wire::Reader in(body);
    out.nonsense = read_channels(in, out.traces);
    if (!out.nonsense.empty()) out.traces.clear();
    return out;
}

}  // namespace canalogue
