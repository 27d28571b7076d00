// Plugins that must be refused at the door; which one is chosen when this is compiled.
#include <cstdlib>
#include <string>

#include "plugins/sdk/plugin.hpp"

namespace {

class Idle : public canalogue::plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FIELDS;
    static constexpr double samples_per_second = 0;
    static std::string why_not(const std::string&) {
#ifdef CANNOT_WORK
        return "The model file lantern.onnx is missing; run the set-up.";
#else
        return {};
#endif
    }
    using Spotter::Spotter;
};

#ifdef DIES_AT_LOAD
[[maybe_unused]] const bool dead = (std::abort(), true);
#endif

}  // namespace

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static auto plugin = canalogue::plugin::spotter_plugin<Idle>();
#ifdef TOO_NEW
    plugin.version = CANALOGUE_PLUGIN_VERSION + 1;
#endif
#ifdef TOO_SMALL
    plugin.size = 8;
#endif
#ifdef IMPOSTOR
    plugin.plugin_version = "another";
#endif
    return &plugin;
}
