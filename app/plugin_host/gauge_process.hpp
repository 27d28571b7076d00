// A gauge at work in its helper process (see plugin_process.hpp). What it could not finish is simply
// not measured.
#pragma once

#include "app/core/trace.hpp"
#include "app/plugin_host/plugin_process.hpp"

namespace canalogue {

class GaugeProcess : public PluginProcess {
  public:
    static Result<GaugeProcess> start(const PluginInfo& plugin, const HostOptions& options);

    bool wants_frames() const;
    bool wants_sound() const;
    // Frames are to be shrunk until their longer side is at most this, in pixels; 0: as recorded.
    int longest_side() const { return longest_side_; }
    const std::vector<Channel>& channels() const { return channels_; }

    // A block of sound: mono, 48,000 samples a second, at most a second; t: of the first sample.
    Result<void> sound(RecordingTime t, const std::vector<float>& samples);

    // One trace for each channel, in their order, its recording left empty; a channel that the gauge
    // left out holds "not measured" at every step. Only this answer means that the span was measured.
    Result<std::vector<Trace>> end_span();

  private:
    GaugeProcess(PluginInfo plugin, HostOptions options, FrameMemory memory);
    std::string read_introduction(wire::Reader& in) override;

    int longest_side_ = 0;
    std::vector<Channel> channels_;
};

}  // namespace canalogue
