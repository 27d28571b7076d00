// What the film is made as: size, what it is encoded for, format. Kept in the plan.
#include <imgui.h>

#include <cstdio>
#include <cstdlib>

#include "app/core/plan_names.hpp"
#include "app/desk/making_up.hpp"
#include "app/editor/clip_desk.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {

// Chips follow one another by themselves; each group begins a line.
template <class T>
bool choose_among(T& value, std::initializer_list<std::pair<const char*, T>> names, const std::string& before = "") {
    ImGui::Dummy({0, 0});
    for (const auto& [name, each] : names)
        if (chip(before + name, name, value == each) && value != each) return value = each, true;
    return false;
}

constexpr double kWeb = -16, kBroadcast = -23;  // LUFS: web (common practice) and EBU R 128

constexpr double kMegabytes[] = {8, 16, 25, 64};

}  // namespace

void ClipDesk::draw_film(Workplace& w) {
    FilmSettings& f = plan_->film;
    strong("Size");
    ImGui::Dummy({0, 0});
    for (const Size size : kFilmSizes)
        if (chip(written(size), written(size), f.size == size) && f.size != size) return f.size = size, change(w, "size of the film");
    strong("Made for");
    if (choose_among(f.target, kTargets)) return change(w, "what the film is for");
    if (f.target == FilmTarget::message) {
        ImGui::Dummy({0, 0});
        for (const double most : kMegabytes) {
            char words[32];
            std::snprintf(words, sizeof words, "%.0f MB", most);
            if (chip(words, words, f.megabytes == most) && f.megabytes != most) return f.megabytes = most, change(w, "size of a message");
        }
    }
    quiet(f.target == FilmTarget::web ? "Good to look at, seeks quickly." : f.target == FilmTarget::master ? "Larger: to be kept and cut again." : "At most so large: to be sent.");
    strong("File");
    if (choose_among(f.format, kFormats)) change(w, "format of the film");
}

// What lies on the picture, and what is heard beside the voice.
void ClipDesk::draw_looks(Workplace& w, FilmSettings& f) {
    strong("Strip");
    if (choose_among(f.strip, kStrips, "strip ")) return change(w, "where the strip lies");
    strong("Captions");
    if (choose_among(f.captions, kCaptions, "captions ")) return change(w, "where the captions stand");
    quiet(f.captions == CaptionStyle::beside ? "Beside the film, to be switched on." : "In the picture, for players that show no captions.");
    strong("Covers");
    if (choose_among(f.covers, kLooks, "covers ")) return change(w, "how covers look");
    strong("Loudness");
    if (choose_among(f.loudness, {{"-16 LUFS, web", kWeb}, {"-23 LUFS, broadcast", kBroadcast}})) return change(w, "loudness of the film");
    strong("Sound of the recording");
    if (choose_among(f.original_sound, {{"only where a passage lets it through", false}, {"everywhere at pace 1", true}})) change(w, "sound of the recording");
}

// Added and taken away as acts: what is listed goes with the next film.
void ClipDesk::draw_captions(Workplace& w) {
    strong("Captions in other languages");
    for (const auto& [language, file] : captions_) {
        if (button("no captions " + language, "Away")) return void(w.did(desk::drop_captions(w.desk, w.session, language)));
        ImGui::SameLine();
        const ImVec2 at = ImGui::GetCursorScreenPos();
        text_within({at.x, at.y + px(8)}, ImGui::GetContentRegionAvail().x, language + "  " + file.filename().string(), theme().text);
        ImGui::Dummy({0, px(34)});
        probe().mark("captions " + language, at.x, at.y, 1, 1, file.string());
    }
    field("captions language", captions_language_, "such as cy", px(92));
    ImGui::SameLine();
    field("captions file", captions_file_, "a WebVTT or SubRip file");
    if (!button("add captions", "Add captions", "", Look::plain, !captions_language_.empty() && !captions_file_.empty())) return;
    if (w.did(desk::add_captions(w.desk, w.session, *plan_, captions_language_, captions_file_))) captions_language_.clear(), captions_file_.clear();
}

// What stays from case to case, to a file and from one.
void ClipDesk::draw_make_up(Workplace& w) {
    strong("Make-up");
    quiet("Film settings, notes and warnings, who made it, credits, consent: what stays from case to case.");
    const char* home = std::getenv("HOME");
    const std::string proposed = (std::filesystem::path(home && *home ? home : ".") / "make-up.json").string();
    if (make_up_.empty()) make_up_ = proposed;
    field("make-up file", make_up_, "a file");
    // What is only proposed may not be there yet.
    std::error_code ec;
    if (button("use make-up", "Use it", "", Look::plain, make_up_ != proposed || std::filesystem::exists(proposed, ec))) {
        auto plan = desk::made_up(*plan_, make_up_);
        if (!plan) return void(w.failed(plan.failure()));
        plan_ = std::move(*plan);
        choose(std::nullopt);
        change(w, "use a make-up");
        w.news = "The make-up is used. Read the statements of consent and interests again (The case).";
        return;
    }
    ImGui::SameLine();
    if (!button("keep make-up", "Keep this film's", "", Look::plain)) return;
    auto earlier = desk::keep_make_up(*plan_, make_up_);
    if (!earlier) return void(w.failed(earlier.failure()));
    w.complaint.clear();
    w.news = "The make-up is kept in " + make_up_ + (earlier->empty() ? "" : "; what was there before is now " + earlier->filename().string());
}

}  // namespace canalogue::editor
