// The one plugin library inside a helper process: opened, checked against the plugin header, asked
// whether it can work here. Its text never leaves this class but through the plugin contract.
#pragma once

#include <memory>
#include <string>

#include "app/plugin_host/runner/offer.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue::runner {

class LoadedPlugin {
  public:
    // extension: "canalogue.spotter" or "canalogue.gauge".
    // Empty when the plugin can be used from now on; else one sentence why not.
    std::string load(const char* library, const std::string& extension, const canalogue_host& host);

    const canalogue_plugin& plugin() const { return plugin_; }
    Offer& offer() const { return *offer_; }

  private:
    std::string take_plugin(const canalogue_plugin* given);
    std::string take_extension(const std::string& id);

    canalogue_plugin plugin_{};
    std::unique_ptr<Offer> offer_;
};

}  // namespace canalogue::runner
