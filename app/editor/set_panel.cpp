#include "app/editor/set_panel.hpp"

#include <imgui.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>

#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "export/teaching_set.hpp"

namespace canalogue::editor {

void SetPanel::add(const std::string& folder) {
    if (!folder.empty() && std::find(films_.begin(), films_.end(), folder) == films_.end()) films_.push_back(folder);
}

// In their order. True when it changed.
bool SetPanel::draw_films() {
    for (std::size_t i = 0; i < films_.size(); ++i) {
        const std::string n = std::to_string(i);
        if (button("set earlier " + n, "Earlier", "", Look::plain, i > 0)) return std::swap(films_[i], films_[i - 1]), true;
        ImGui::SameLine();
        if (button("set without " + n, "Away")) return films_.erase(films_.begin() + static_cast<std::ptrdiff_t>(i)), true;
        ImGui::SameLine();
        const ImVec2 at = ImGui::GetCursorScreenPos();
        text_within({at.x, at.y + px(8)}, ImGui::GetContentRegionAvail().x, std::filesystem::path(films_[i]).filename().string(), theme().text);
        ImGui::Dummy({0, px(34)});
        probe().mark("set film " + n, at.x, at.y, 1, 1, films_[i]);
    }
    return false;
}

void SetPanel::draw(Workplace& w, const std::string& newest) {
    quiet("One page that leads to the case pages of finished films, in this order. Films for the care team or a patient, and films that the check held back, are refused.");
    if (draw_films()) return;
    if (!newest.empty() && std::find(films_.begin(), films_.end(), newest) == films_.end() && button("set this film", "Add this film")) return add(newest);
    field("set typed", typed_, "a folder that a film was made into", std::max(px(120), ImGui::GetContentRegionAvail().x - px(80)));
    ImGui::SameLine();
    if (button("set add", "Add", "", Look::plain, !typed_.empty())) return add(typed_), typed_.clear();
    if (films_.empty()) return;
    field("set title", title_, "what stands above the page");
    if (folder_.empty()) folder_ = std::filesystem::path(films_.front()).parent_path().string();
    field("set folder", folder_, "the folder for index.html; best the one that holds the films");
    if (!button("make set", "Make the page", "", Look::plain, !folder_.empty())) return;
    const std::vector<std::filesystem::path> films(films_.begin(), films_.end());
    const auto earlier = film::write_teaching_set(folder_, title_, films);
    if (w.did(earlier)) w.news = "The teaching set's page is " + (std::filesystem::path(folder_) / film::kTeachingSetFile).string() + (earlier->empty() ? "" : "; what was there before is now " + earlier->filename().string());
}

}  // namespace canalogue::editor
