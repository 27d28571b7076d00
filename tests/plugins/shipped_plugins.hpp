// The shipped plugins, found and started.
#pragma once

#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <string>

#include "app/plugin_host/spotter_process.hpp"

namespace canalogue::tests {

inline HostOptions shipped_options() {
    HostOptions options;
    options.runner = CANALOGUE_RUNNER;
    return options;
}

inline HostOptions with_models() {
    auto options = shipped_options();
    options.models = CANALOGUE_MODELS_FOLDER;
    return options;
}

// Without the models a test of `what` proves nothing, and says so.
inline bool models_missing(const char* what) {
    if (std::filesystem::exists(std::filesystem::path(CANALOGUE_MODELS_FOLDER) / "fetched.txt")) return false;
    std::fprintf(stderr, "\n*** SKIPPED: the models are not there, %s NOT tested; run app/setup/models.sh ***\n\n", what);
    return true;
}

inline PluginInfo shipped_plugin(const std::string& id) {
    const auto catalog = PluginCatalog::read({CANALOGUE_SHIPPED_PLUGINS});
    const auto* info = catalog.find(id);
    REQUIRE(info);
    REQUIRE(info->available);
    return *info;
}

}  // namespace canalogue::tests
