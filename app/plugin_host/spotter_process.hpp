// A spotter at work in its helper process (see plugin_process.hpp). What it could not finish counts as
// unscanned.
#pragma once

#include "app/core/suspect.hpp"
#include "app/plugin_host/plugin_process.hpp"

namespace canalogue {

// One thing a file says about itself; the names are those of canalogue_field in the plugin header.
struct Field {
    std::string name, value;
};

class SpotterProcess : public PluginProcess {
  public:
    static Result<SpotterProcess> start(const PluginInfo& plugin, const HostOptions& options);

    bool wants_fields() const;

    // All that was found since begin_span. Only this answer means that the span was scanned.
    Result<std::vector<Proposal>> end_span();
    Result<std::vector<Proposal>> fields(const std::vector<Field>& fields);

  private:
    SpotterProcess(PluginInfo plugin, HostOptions options, FrameMemory memory);
    std::string read_introduction(wire::Reader&) override { return {}; }
    Result<std::vector<Proposal>> proposals_from(const wire::Message& answer, RecordingSpan offered);
};

}  // namespace canalogue
