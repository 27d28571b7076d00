// The one plugin library inside a helper process: opened, checked against the plugin header, asked
// whether it can work here. Its text never leaves this class but through the plugin contract.
#pragma once

#include <string>

#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue::runner {

class LoadedPlugin {
  public:
    // Empty when the plugin can be used from now on; else one sentence why not.
    std::string load(const char* library, const canalogue_host& host);

    const canalogue_plugin& plugin() const { return plugin_; }
    const canalogue_spotter& spotter() const { return spotter_; }
    canalogue_spotter_state* state() const { return state_; }

  private:
    std::string take_plugin(const canalogue_plugin* given);
    std::string take_spotter();

    canalogue_plugin plugin_{};
    canalogue_spotter spotter_{};
    canalogue_spotter_state* state_ = nullptr;
};

}  // namespace canalogue::runner
