#include "app/plugin_host/spotter_process.hpp"

#include <algorithm>

#include "app/plugin_host/proposal_check.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue {

namespace {
constexpr std::size_t kMostFields = 10'000;
}

SpotterProcess::SpotterProcess(PluginInfo plugin, HostOptions options, FrameMemory memory)
    : PluginProcess(std::move(plugin), std::move(options), std::move(memory),
                    {"spotter", CANALOGUE_EXTENSION_SPOTTER, "stays unscanned", "what it was to look at",
                     "what it has not seen"}) {}

Result<SpotterProcess> SpotterProcess::start(const PluginInfo& plugin, const HostOptions& options) {
    if (!plugin.available) return machine_trouble(plugin.why_not);
    if (plugin.provides != Provides::spotter)
        return wrong_use("The plugin '" + plugin.name + "' is not a spotter; choose one that is.");
    auto memory = FrameMemory::make();
    if (!memory) return memory.failure();
    SpotterProcess process(plugin, options, std::move(*memory));
    if (auto launched = process.launch(); !launched) return launched.failure();
    return process;
}

bool SpotterProcess::wants_fields() const { return wants(CANALOGUE_WANTS_FIELDS); }

Result<std::vector<Proposal>> SpotterProcess::proposals_from(const wire::Message& answer,
                                                             RecordingSpan offered) {
    // A container's idea of the duration may fall a frame short of the last span.
    const RecordingSpan whole{{0}, {std::max(about()->duration, offered.end.ns)}};
    auto checked = check_proposals(answer.body, about()->picture, whole, offered);
    if (!checked.nonsense.empty()) return give_up("answered nonsense (" + checked.nonsense + ")");
    return std::move(checked.proposals);
}

Result<std::vector<Proposal>> SpotterProcess::end_span() {
    auto ended = ask_end();
    if (!ended) return ended.failure();
    return proposals_from(ended->answer, ended->span);
}

Result<std::vector<Proposal>> SpotterProcess::fields(const std::vector<Field>& fields) {
    if (!about() || fields.size() > kMostFields)
        return wrong_use("Fields to look at need a recording, and there may be ten thousand of them.");
    now_in_hand("what the file says about itself");
    wire::Writer body;
    body.put(static_cast<std::uint32_t>(fields.size()));
    for (const auto& [name, value] : fields) body.put(name).put(value);
    auto answer = ask(wire::Kind::fields, body.take());
    if (!answer) return answer.failure();
    return proposals_from(*answer, {});
}

}  // namespace canalogue
