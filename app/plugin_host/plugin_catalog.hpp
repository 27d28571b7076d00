// The plugins found on this machine. A plugin is a folder with a plugin.json:
//     { "id": "burnt_text", "name": "Burnt-in text", "version": "1", "provides": "spotter",
//       "library": "burnt_text.so", "about": "...", "looks_for": [...], "does_not_look_for": [...] }
// provides is "spotter", "vocabulary" or "gauge"; a vocabulary names a "vocabulary" file instead of
// a library. Paths in it stay inside its folder.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "app/core/result.hpp"

namespace canalogue {

enum class Provides { spotter, vocabulary, gauge };

struct PluginInfo {
    std::string id;       // letters, digits, _ and -; its results are kept under it
    std::string name;     // for people
    std::string version;  // results are kept by it as well
    Provides provides = Provides::spotter;
    std::filesystem::path folder;
    std::filesystem::path library;     // absolute; empty for a vocabulary
    std::filesystem::path vocabulary;  // absolute; empty for code
    std::string about;
    std::vector<std::string> looks_for, does_not_look_for;
    bool available = true;
    std::string why_not;  // one sentence when not available
};

struct HostOptions;

class PluginCatalog {
  public:
    // $CANALOGUE_PLUGINS (folders joined by colons) when set; else ../plugins beside the running
    // program's folder; else where the program was installed.
    static std::vector<std::filesystem::path> usual_folders();

    // Reads every <folder>/<plugin>/plugin.json. Of two plugins with one id the first found counts.
    // A plugin that cannot be used is listed all the same, with the reason. Never fails as a whole.
    static PluginCatalog read(const std::vector<std::filesystem::path>& folders = usual_folders());

    // Starts each spotter once and stops it again, so that one that cannot work here (a model is
    // missing, it crashes at once) says so before it is needed. Takes about 50 ms a plugin.
    void ask_spotters(const HostOptions& options);

    const std::vector<PluginInfo>& plugins() const { return plugins_; }  // sorted by id
    const PluginInfo* find(std::string_view id) const;                   // null when there is none

  private:
    std::vector<PluginInfo> plugins_;
};

}  // namespace canalogue
