// What a person set once: kept beside the library as settings.json, never in a session.
#pragma once

#include <filesystem>
#include <string>

namespace canalogue::editor {

struct Settings {
    std::string clinic, author;
    bool light = false;
    double scale = 0;       // 0: from the monitor
    bool toured = false;    // the tour was seen or declined
    double volume = 1;      // of the sound heard, 0 .. 1 as the hand sets it; no film knows of it
    bool muted = false;
};

Settings read_settings(const std::filesystem::path& library);
// Best effort: a setting that cannot be kept is set again next time.
void keep_settings(const std::filesystem::path& library, const Settings& settings);

}  // namespace canalogue::editor
