#include "app/editor/library_desk.hpp"

#include <algorithm>

#include "app/desk/importing.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/media/frame_reader.hpp"

namespace canalogue::editor {

void LibraryDesk::dropped(const std::vector<std::string>& files) {
    files_.insert(files_.end(), files.begin(), files.end());
    importing_ = true;
}

void LibraryDesk::import(Workplace& w) {
    desk::ImportWish wish;
    wish.session = name_;
    for (const auto& f : files_) wish.files.emplace_back(f);
    wish.ear = ear_;
    w.beside("Importing", [this, &w, wish](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto done = desk::import_recordings(own, wish, [](const desk::Imported&) {}, progress);
        if (!done) return done.failure();
        std::string notes;
        for (const auto& i : *done) {
            for (const auto& n : i.notes) notes += n + " ";
            if (i.recording.lost > 0) notes += format_time(i.recording.lost / kMillisecond * kMillisecond) + " of " + i.recording.id + " could not be read; it is used up to its last good picture. ";
            if (i.seen_before) notes += "This recording is in session '" + *i.seen_before + "' already. ";
        }
        return Jobs::Then([this, &w, session = wish.session, notes] {
            fresh_ = false, importing_ = false;
            files_.clear(), name_.clear();
            if (!w.open(session)) return;
            w.at = DeskName::session;
            w.news = "Imported; the file itself is only read";
            w.complaint = notes;
        });
    });
}

void LibraryDesk::draw_import(Workplace& w) {
    strong("New session, or more of one");
    quiet("Drop files on the window, or write where one lies. Do not name a session after the patient.");
    for (std::size_t i = 0; i < files_.size(); ++i) {
        ImGui::Bullet();
        ImGui::SameLine();
        ImGui::TextUnformatted(std::filesystem::path(files_[i]).filename().string().c_str());
        ImGui::SameLine();
        if (button("no file " + std::to_string(i), "Away")) {
            files_.erase(files_.begin() + static_cast<std::ptrdiff_t>(i));
            break;
        }
    }
    if (field("import file", file_, "/where/the/film/lies.mp4") && !file_.empty()) {
        files_.push_back(file_);
        file_.clear();
    }
    field("import name", name_, "session, such as s1", px(200));
    strong("Which ear do they show?");
    ImGui::Dummy({0, 0});
    if (chip("import right", "Right", ear_ == Ear::right)) ear_ = Ear::right;
    if (chip("import left", "Left", ear_ == Ear::left)) ear_ = Ear::left;
    if (chip("import later", "Both, told later", !ear_)) ear_.reset();
    const bool busy = w.jobs.running("Importing");
    if (button("import", busy ? "Importing \u2026" : "Import", "", Look::primary, !busy && !name_.empty() && !files_.empty())) import(w);
}

void LibraryDesk::draw_card(Workplace& w, const desk::SessionCard& c) {
    const Row r = row("session " + c.id, px(62), chosen_ == c.id);
    const float x = r.from.x + px(12), width = r.to.x - x - px(8);
    // What is left to do stands beside the name, what there is under it.
    const std::string left = c.open_suspects > 0 ? std::to_string(c.open_suspects) + " to decide" : c.confirmed ? "" : "draft";
    const float room = left.empty() ? 0 : ImGui::CalcTextSize(left.c_str()).x + px(10);
    text_within({x, r.from.y + px(8)}, width - room, c.id, theme().text, ui().fonts.strong);
    if (!left.empty()) text_within({x + width - room + px(10), r.from.y + px(8)}, room, left, theme().accent);
    std::string facts = format_clock(c.length);
    facts += c.right && c.left ? ", both ears" : c.right ? ", right ear" : c.left ? ", left ear" : "";
    facts += ", " + std::to_string(c.events) + (c.events == 1 ? " event" : " events");
    if (!c.exports.empty()) facts += ", " + std::to_string(c.exports.size()) + (c.exports.size() == 1 ? " film" : " films");
    text_within({x, r.from.y + px(33)}, width, facts, theme().quiet);
    if (!r.pressed) return;
    if (chosen_ == c.id && w.session != c.id && w.open(c.id)) w.at = DeskName::session;
    chosen_ = c.id;
}

// By outcome and by kind of event: those that the library holds, on demand.
void LibraryDesk::draw_kinds() {
    std::map<std::string, std::string> outcomes, others;
    for (const auto& c : cards_) {
        outcomes.insert(c.outcomes.begin(), c.outcomes.end());
        others.insert(c.others.begin(), c.others.end());
    }
    if (outcomes.empty() && others.empty()) return;
    if (chip("by kind", kinds_shown_ ? "Any event" : "Outcome, event \u2026", kinds_shown_)) {
        kinds_shown_ = !kinds_shown_;
        search_.kind.clear();
    }
    if (!kinds_shown_) return;
    for (const auto* group : {&outcomes, &others}) {
        if (group->empty()) continue;
        strong(group == &outcomes ? "Outcome" : "Event");
        ImGui::Dummy({0, 0});
        for (const auto& [id, name] : *group)
            if (chip("kind is " + id, name, search_.kind == id)) search_.kind = search_.kind == id ? "" : id;
    }
}

void LibraryDesk::draw(Workplace& w) {
    if (!fresh_) {
        auto cards = desk::session_cards(w.desk);
        if (cards) cards_ = std::move(*cards);
        else w.failed(cards.failure());
        fresh_ = true;
        if (chosen_.empty()) chosen_ = w.session;
    }
    if (button("new session", importing_ ? "Back to the list" : "Import \u2026", "", importing_ ? Look::plain : Look::primary)) importing_ = !importing_;
    if (!chosen_.empty() && !importing_) {
        ImGui::SameLine();
        if (button("open session", "Open " + chosen_, "", Look::plain, chosen_ != w.session)) {
            if (w.open(chosen_)) w.at = DeskName::session;
        }
    }
    if (importing_) return draw_import(w);
    field("search", search_.text, "search: wax, drum, referral, a session's name");
    ImGui::Dummy({0, 0});
    if (chip("any ear", "Any ear", !search_.ear)) search_.ear.reset();
    if (chip("search right", "Right", search_.ear == Ear::right)) search_.ear = Ear::right;
    if (chip("search left", "Left", search_.ear == Ear::left)) search_.ear = Ear::left;
    draw_kinds();
    gap(2);
    ImGui::BeginChild("sessions");
    int shown = 0;
    for (const auto& c : cards_)
        if (desk::answers(c, search_)) ++shown, draw_card(w, c);
    if (cards_.empty()) quiet("The library is empty. 'Import' brings in a recording; 'canalogue demo' draws a session to try things on.");
    else if (shown == 0) quiet("No session answers this search.");
    ImGui::EndChild();
}

const RgbTexture* LibraryDesk::still(Workplace& w, const std::string& file) {
    if (const auto it = stills_.find(file); it != stills_.end()) return &it->second;
    if (wanted_[file]) return nullptr;
    wanted_[file] = true;
    w.jobs.start("Still " + file, [this, file](const Progress&) -> Result<Jobs::Then> {
        auto reader = media::FrameReader::open(file, 1);
        if (!reader) return Jobs::Then{};
        auto picture = reader->next();
        if (!picture || !*picture) return Jobs::Then{};
        media::RgbConverter converter;
        auto rgb = converter.convert(**picture, Rotation::none, 480);
        if (!rgb) return Jobs::Then{};
        return Jobs::Then([this, file, rgb = std::make_shared<media::RgbPicture>(std::move(*rgb))] { stills_[file].show(*rgb); });
    }, true);
    return nullptr;
}

void LibraryDesk::draw_sheet(Workplace& w, ImVec2 from, ImVec2 size) {
    ImGui::SetCursorScreenPos({from.x + px(16), from.y + px(14)});
    ImGui::BeginChild("sheet", {size.x - px(32), size.y - px(28)});
    const auto it = std::find_if(cards_.begin(), cards_.end(), [&](const desk::SessionCard& c) { return c.id == chosen_; });
    if (it == cards_.end()) {
        title("Library");
        quiet(cards_.empty() ? "Nothing is here yet." : "Choose a session at the right; its films' stills are shown here.");
        ImGui::EndChild();
        return;
    }
    title(it->id.c_str());
    constexpr std::size_t kShown = 4;
    for (std::size_t i = 0; i < it->words.size() && i < kShown; ++i) quiet(it->words[i].c_str());
    if (it->words.size() > kShown) quiet(("and " + std::to_string(it->words.size() - kShown) + " more events").c_str());
    gap(6);
    int number = 0;
    for (const auto& folder : it->exports) {
        strong(folder.filename().string().c_str());
        std::error_code ec;
        std::vector<std::string> files;
        for (const auto& e : std::filesystem::directory_iterator(folder / "stills", ec)) files.push_back(e.path().string());
        std::sort(files.begin(), files.end());
        const float width = px(210), height = px(124);
        float x = 0;
        for (const auto& f : files) {
            if (x > 0 && x + width < ImGui::GetContentRegionAvail().x) ImGui::SameLine(0, px(8));
            else x = 0;
            x += width + px(8);
            const ImVec2 at = ImGui::GetCursorScreenPos();
            ImGui::Dummy({width, height});
            ImGui::GetWindowDrawList()->AddRectFilled(at, {at.x + width, at.y + height}, IM_COL32(0, 0, 0, 255), px(3));
            const RgbTexture* t = ImGui::IsItemVisible() ? still(w, f) : nullptr;
            probe().mark("still " + std::to_string(number++), at.x, at.y, width, height, t ? "shown" : "");
            if (t) {
                const float scale = std::min(width / static_cast<float>(t->size().w), height / static_cast<float>(t->size().h));
                const float tw = static_cast<float>(t->size().w) * scale, th = static_cast<float>(t->size().h) * scale;
                const ImVec2 a{at.x + (width - tw) / 2, at.y + (height - th) / 2};
                ImGui::GetWindowDrawList()->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::intptr_t>(t->texture())), a, {a.x + tw, a.y + th});
            }
        }
        gap(6);
    }
    if (it->exports.empty()) quiet("No film was made of it yet: the Clip desk makes one. Only covered stills are ever shown here.");
    ImGui::EndChild();
}

}  // namespace canalogue::editor
