#include "app/editor/settings.hpp"

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>

#include "export/folder.hpp"

namespace canalogue::editor {

using nlohmann::json;

Settings read_settings(const std::filesystem::path& library) {
    Settings s;
    std::ifstream in(library / "settings.json", std::ios::binary);
    const json j = json::parse(in, nullptr, false);
    if (!j.is_object()) return s;
    try {
        s.clinic = j.value("clinic", "");
        s.author = j.value("author", "");
        s.light = j.value("light", false);
        s.scale = j.value("scale", 0.0);
        s.toured = j.value("toured", false);
        s.volume = std::clamp(j.value("volume", 1.0), 0.0, 1.0);
        s.muted = j.value("muted", false);
    } catch (const json::exception&) {
        return {};
    }
    return s;
}

void keep_settings(const std::filesystem::path& library, const Settings& s) {
    const json j = {{"clinic", s.clinic}, {"author", s.author}, {"light", s.light}, {"scale", s.scale}, {"toured", s.toured}, {"volume", s.volume}, {"muted", s.muted}};
    const auto part = library / ".settings.json.part";
    std::error_code ec;
    if (film::write_text(part, j.dump(2, ' ', false, json::error_handler_t::replace) + "\n")) std::filesystem::rename(part, library / "settings.json", ec);
}

}  // namespace canalogue::editor
