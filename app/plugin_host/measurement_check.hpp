// Turns a gauge's introduction and answers into channels and traces and trusts none of it: whatever a
// sound gauge could not have meant is called nonsense, and then nothing of the answer is used.
#pragma once

#include <string>
#include <vector>

#include "app/core/trace.hpp"
#include "app/plugin_host/wire.hpp"

namespace canalogue {

struct CheckedChannels {
    std::vector<Channel> channels;
    std::string nonsense;  // what was wrong; empty when all is well
};
// Reads the gauge's part of an introduction.
CheckedChannels check_channels(wire::Reader& in);

struct CheckedMeasurements {
    std::vector<Trace> traces;  // one for each channel; recording, gauge and version left empty
    std::string nonsense;
};
// offered: the span just measured. A value is wanted for each step of it, or none for a channel.
CheckedMeasurements check_measurements(const std::vector<std::uint8_t>& body,
                                       const std::vector<Channel>& channels, RecordingSpan offered);

}  // namespace canalogue
