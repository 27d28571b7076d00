// What the film is made as: size, what it is encoded for, format. Kept in the plan.
#include <imgui.h>

#include <cstdio>

#include "app/core/plan_names.hpp"
#include "app/editor/clip_desk.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {

// Chips follow one another by themselves; each group begins a line.
template <class T>
bool choose(T& value, std::initializer_list<std::pair<const char*, T>> names) {
    ImGui::Dummy({0, 0});
    for (const auto& [name, each] : names)
        if (chip(name, name, value == each) && value != each) return value = each, true;
    return false;
}

constexpr double kMegabytes[] = {8, 16, 25, 64};

}  // namespace

void ClipDesk::draw_film(Workplace& w) {
    FilmSettings& f = plan_->film;
    strong("As");
    ImGui::Dummy({0, 0});
    for (const Size size : kFilmSizes)
        if (chip(written(size), written(size), f.size == size) && f.size != size) return f.size = size, change(w, "size of the film");
    if (choose(f.target, kTargets)) return change(w, "what the film is for");
    if (f.target == FilmTarget::message) {
        ImGui::Dummy({0, 0});
        for (const double most : kMegabytes) {
            char words[32];
            std::snprintf(words, sizeof words, "%.0f MB", most);
            if (chip(words, words, f.megabytes == most) && f.megabytes != most) return f.megabytes = most, change(w, "size of a message");
        }
    }
    if (choose(f.format, kFormats)) change(w, "format of the film");
}

}  // namespace canalogue::editor
