// A gauge at work in its helper process (see plugin_process.hpp). What it could not finish is simply
// not measured.
#pragma once

#include "app/core/trace.hpp"
#include "app/plugin_host/plugin_process.hpp"

namespace canalogue {

class GaugeProcess : public PluginProcess {
  public:
    static Result<GaugeProcess> start(const PluginInfo& plugin, const HostOptions& options);

    const std::vector<Channel>& channels() const { return channels_; }

    // One trace for each channel, in their order, its recording left empty; a channel that the gauge
    // left out holds "not measured" at every step. Only this answer means that the span was measured.
    Result<std::vector<Trace>> end_span();

  private:
    GaugeProcess(PluginInfo plugin, HostOptions options, FrameMemory memory);
    std::string read_introduction(wire::Reader& in) override;

    std::vector<Channel> channels_;
};

}  // namespace canalogue
