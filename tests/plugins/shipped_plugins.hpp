// The shipped plugins, found and started.
#pragma once

#include <catch2/catch.hpp>
#include <string>

#include "app/plugin_host/spotter_process.hpp"

namespace canalogue::tests {

inline HostOptions shipped_options() {
    HostOptions options;
    options.runner = CANALOGUE_RUNNER;
    return options;
}

inline PluginInfo shipped_plugin(const std::string& id) {
    const auto catalog = PluginCatalog::read({CANALOGUE_SHIPPED_PLUGINS});
    const auto* info = catalog.find(id);
    REQUIRE(info);
    REQUIRE(info->available);
    return *info;
}

}  // namespace canalogue::tests
