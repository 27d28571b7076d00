#include "app/plugin_host/plugin_catalog.hpp"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>

#include "app/core/text.hpp"
#include "app/plugin_host/beside_program.hpp"
#include "app/plugin_host/spotter_process.hpp"

namespace canalogue {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

constexpr std::uintmax_t kLargestDescription = 1u << 20;

const std::map<std::string, Provides, std::less<>> kProvides{
    {"spotter", Provides::spotter}, {"vocabulary", Provides::vocabulary}, {"gauge", Provides::gauge}};

bool fit_as_id(const std::string& id) {
    return !id.empty() && id.size() <= 64 && std::all_of(id.begin(), id.end(), [](unsigned char c) {
        return std::isalnum(c) || c == '_' || c == '-';
    });
}

// The file `name` of the plugin's own folder; empty when it would lie elsewhere.
fs::path own_file(const fs::path& folder, const std::string& name) {
    const fs::path relative(name);
    if (name.empty() || relative.is_absolute() || relative.has_root_path()) return {};
    for (const auto& part : relative)
        if (part == "..") return {};
    return folder / relative;
}

void refuse(PluginInfo& info, std::string why) {
    info.available = false;
    info.why_not = std::move(why);
}

// Fills `info` from the description; throws json::exception where a member is missing or of another type.
void take_description(PluginInfo& info, const json& j) {
    info.id = j.at("id").get<std::string>();
    info.name = j.at("name").get<std::string>();
    info.version = j.at("version").get<std::string>();
    info.about = j.value("about", "");
    info.looks_for = j.value("looks_for", std::vector<std::string>{});
    info.does_not_look_for = j.value("does_not_look_for", std::vector<std::string>{});
    const auto provides = kProvides.find(j.at("provides").get<std::string>());
    if (provides == kProvides.end())
        return refuse(info, "The plugin '" + info.name +
                                "' offers something this version does not know; "
                                "update Canalogue or remove the plugin.");
    info.provides = provides->second;
    const bool data = info.provides == Provides::vocabulary;
    const char* member = data ? "vocabulary" : "library";
    const fs::path file = own_file(info.folder, j.at(member).get<std::string>());
    (data ? info.vocabulary : info.library) = file;
    std::error_code ignored;
    if (file.empty() || !fs::is_regular_file(file, ignored))
        refuse(info, "The plugin '" + info.name + "' lacks its " + member + " file; install it again.");
}

PluginInfo read_plugin(const fs::path& folder) {
    PluginInfo info;
    info.folder = folder;
    info.id = info.name = folder.filename().string();
    const std::string broken = "The plugin in the folder '" + info.name + "' has an unreadable plugin.json; ";
    try {
        if (fs::file_size(folder / "plugin.json") > kLargestDescription) throw std::length_error("too long");
        std::ifstream in(folder / "plugin.json");
        take_description(info, json::parse(in));
    } catch (const std::exception&) {
        refuse(info, broken + "install it again.");
    }
    if (!fit_as_id(info.id) || info.name.empty() || !is_utf8(info.name) || info.version.empty())
        refuse(info, broken + "it needs an id of letters and digits, a name and a version.");
    return info;
}

std::vector<fs::path> plugin_folders(const fs::path& folder) {
    std::vector<fs::path> found;
    std::error_code ignored;
    for (const auto& entry : fs::directory_iterator(folder, ignored))
        if (fs::is_regular_file(entry.path() / "plugin.json", ignored))
            found.push_back(fs::absolute(entry.path()));
    std::sort(found.begin(), found.end());
    return found;
}

}  // namespace

std::vector<fs::path> PluginCatalog::usual_folders() {
    std::vector<fs::path> folders;
    if (const char* listed = std::getenv("CANALOGUE_PLUGINS"); listed && *listed) {
        std::string_view rest = listed;
        while (!rest.empty()) {
            const auto colon = std::min(rest.find(':'), rest.size());
            if (colon > 0) folders.emplace_back(rest.substr(0, colon));
            rest.remove_prefix(std::min(colon + 1, rest.size()));
        }
        return folders;
    }
    std::error_code ignored;
    if (const auto beside = program_folder().parent_path() / "plugins"; fs::is_directory(beside, ignored))
        return {beside};
    return {fs::path(CANALOGUE_INSTALLED_PLUGINS)};
}

PluginCatalog PluginCatalog::read(const std::vector<fs::path>& folders) {
    PluginCatalog catalog;
    for (const auto& folder : folders)
        for (const auto& plugin : plugin_folders(folder)) {
            auto info = read_plugin(plugin);
            if (!catalog.find(info.id)) catalog.plugins_.push_back(std::move(info));
        }
    std::sort(catalog.plugins_.begin(), catalog.plugins_.end(),
              [](const auto& a, const auto& b) { return a.id < b.id; });
    return catalog;
}

void PluginCatalog::ask_spotters(const HostOptions& options) {
    for (auto& info : plugins_) {
        if (!info.available || info.provides != Provides::spotter) continue;
        if (auto started = SpotterProcess::start(info, options); !started)
            refuse(info, started.failure().sentence);
    }
}

const PluginInfo* PluginCatalog::find(std::string_view id) const {
    for (const auto& info : plugins_)
        if (info.id == id) return &info;
    return nullptr;
}

}  // namespace canalogue
