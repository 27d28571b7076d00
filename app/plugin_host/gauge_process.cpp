#include "app/plugin_host/gauge_process.hpp"

#include "app/plugin_host/measurement_check.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue {

GaugeProcess::GaugeProcess(PluginInfo plugin, HostOptions options, FrameMemory memory)
    : PluginProcess(std::move(plugin), std::move(options), std::move(memory),
                    {"gauge", CANALOGUE_EXTENSION_GAUGE, "is not measured", "what it was to measure",
                     "what is left"}) {}

Result<GaugeProcess> GaugeProcess::start(const PluginInfo& plugin, const HostOptions& options) {
    if (!plugin.available) return machine_trouble(plugin.why_not);
    if (plugin.provides != Provides::gauge)
        return wrong_use("The plugin '" + plugin.name + "' is not a gauge; choose one that is.");
    auto memory = FrameMemory::make();
    if (!memory) return memory.failure();
    GaugeProcess process(plugin, options, std::move(*memory));
    if (auto launched = process.launch(); !launched) return launched.failure();
    return process;
}

std::string GaugeProcess::read_introduction(wire::Reader& in) {
    auto checked = check_channels(in);
    channels_ = std::move(checked.channels);
    return checked.nonsense;
}

Result<std::vector<Trace>> GaugeProcess::end_span() {
    auto ended = ask_end();
    if (!ended) return ended.failure();
    auto checked = check_measurements(ended->answer.body, channels_, ended->span);
    if (!checked.nonsense.empty()) return give_up("answered nonsense (" + checked.nonsense + ")");
    for (auto& t : checked.traces) {
        t.gauge = plugin().id;
        t.version = plugin().version;
    }
    return std::move(checked.traces);
}

}  // namespace canalogue
