// The misbehaving test plugins, found and started.
#pragma once

#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "app/plugin_host/spotter_process.hpp"

namespace canalogue::tests {

inline constexpr Size kPicture{64, 48};
inline constexpr RecordingAbout kFacts{kPicture, 10 * kSecond};
inline constexpr RecordingSpan kSpan{{kSecond}, {3 * kSecond}};

inline HostOptions quick_options() {
    HostOptions options;
    options.runner = CANALOGUE_RUNNER;
    options.deadline = std::chrono::seconds(5);
    return options;
}

// The plugin of that name as the catalog describes it.
inline PluginInfo ill_plugin(const std::string& id) {
    const auto catalog = PluginCatalog::read({CANALOGUE_ILL_PLUGINS});
    const auto* info = catalog.find(id);
    REQUIRE(info);
    REQUIRE(info->available);
    return *info;
}

inline SpotterProcess started(const std::string& id, const HostOptions& options = quick_options()) {
    auto process = SpotterProcess::start(ill_plugin(id), options);
    if (!process) FAIL(process.failure().sentence);
    REQUIRE(process->begin_recording(kFacts).ok());
    return std::move(*process);
}

// A grey picture whose first byte is given.
inline std::vector<std::uint8_t> picture(std::uint8_t first) {
    std::vector<std::uint8_t> rgb(static_cast<std::size_t>(kPicture.w) * kPicture.h * 3, 128);
    rgb[0] = first;
    return rgb;
}

}  // namespace canalogue::tests
