// What the keys do, and the list of them on F1: one table for both.
#include <GLFW/glfw3.h>

#include <algorithm>

#include "app/desk/tagging.hpp"
#include "app/editor/film_transport.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/editor/window.hpp"

namespace canalogue::editor {

namespace {

struct KeyLine {
    const char *key, *does;
};
constexpr KeyLine kEverywhere[] = {
    {"Space", "play, stop"},
    {"Left, Right", "one frame back, on"},
    {"Shift+Left, Right", "one second back, on"},
    {"Up, Down", "event before, after"},
    {"Home, End", "beginning, end"},
    {", and .", "slower, quicker"},
    {"F7, F8", "softer, louder"},
    {"F6", "sound off, on"},
    {"Ctrl+Z, Ctrl+Y", "undo, redo"},
    {"Ctrl+E", "the side here is the other one"},
    {"F2 to F5", "Session, Privacy, Clip, Library"},
    {"Tab, Enter", "next thing to press, press it"},
    {"Esc", "leave what is begun"},
    {"Ctrl++, Ctrl+-, Ctrl+0", "larger, smaller, as it was"},
    {"F1", "this list"},
};
constexpr KeyLine kSession[] = {{"digits, letters", "place the event of that key"}, {"Del", "take the chosen event away"}, {"=", "accept the chosen suggestion"}, {"Ctrl+M", "move the chosen event to this frame"}, {"Ctrl+C", "copy the record"}, {"Ctrl+B", "the sharpest frame near here"}};
constexpr KeyLine kPrivacy[] = {{"C, H", "cover; harmless (with the reason)"}, {"N, P", "next, previous suspect"}, {"W", "wider"}, {"X", "split at this frame"}, {"E", "ends with this frame"}, {"F, R", "follow the box from here on, and back"}, {"B", "draw a box"}, {"K", "put a drawn box right at this frame"}, {"G", "next part not watched"}, {"A, M", "cover the picture, hush the sound of a span"}};
constexpr KeyLine kClip[] = {{"D", "draft a plan, or another in its place"}, {"A", "passage from here"}, {"T", "card"}, {"K, J", "earlier, later (Ctrl+Up, Ctrl+Down too)"}, {"C", "close-up: place it, done with it"}, {"arrows", "with a close-up: move it; with Shift larger, smaller"}, {"[ and ]", "the passage begins, ends here"}, {"V", "preview, and back; meanwhile Space, the arrows, Home and End are the film's"}, {"Del", "take out of the plan"}};

bool down(int key) { return ui().keys.down(key); }
bool held(int key) { return ui().keys.held(key); }
bool ctrl(int key) { return ui().keys.with_ctrl(key); }

template <std::size_t N>
void lines(const char* head, const KeyLine (&all)[N]) {
    strong(head);
    for (const auto& l : all) {
        ImGui::TextUnformatted(l.key);
        ImGui::SameLine(px(220));
        quiet(l.does);
    }
    gap(6);
}

}  // namespace

void Window::draw_keys() {
    const ImVec2 size = ImGui::GetIO().DisplaySize;
    const ImVec2 need{px(600), std::min(size.y - px(60), px(680))};
    ImGui::SetNextWindowPos({(size.x - need.x) / 2, (size.y - need.y) / 2});
    ImGui::SetNextWindowSize(need);
    ImGui::SetNextWindowFocus();
    ImGui::PushStyleColor(ImGuiCol_WindowBg, colour4(theme().raised));
    ImGui::Begin("keys", nullptr, ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings);
    title("Keys");
    probe().mark("key list", ImGui::GetWindowPos().x, ImGui::GetWindowPos().y, need.x, need.y);
    ImGui::BeginChild("key lines");
    if (w_.at == DeskName::session) lines("Session desk", kSession);
    if (w_.at == DeskName::privacy) lines("Privacy desk", kPrivacy);
    if (w_.at == DeskName::clip) lines("Clip desk", kClip);
    lines("Everywhere", kEverywhere);
    ImGui::EndChild();
    ImGui::End();
    ImGui::PopStyleColor();
}

void Window::handle_control_keys() {
    const auto rescaled = [&](double to) {
        factor_ = std::clamp(to, 0.6, 3.0);
        w_.settings.scale = factor_;
        keep_settings(w_.desk.library.folder(), w_.settings);
        scale_changed_ = true;
    };
    if (ctrl(GLFW_KEY_EQUAL) || ctrl(GLFW_KEY_KP_ADD)) return rescaled(factor_ * 1.1);
    if (ctrl(GLFW_KEY_MINUS) || ctrl(GLFW_KEY_KP_SUBTRACT)) return rescaled(factor_ / 1.1);
    if (ctrl(GLFW_KEY_0)) return rescaled(1);
    if (w_.session.empty() || ui().typing()) return;
    const bool shift = ui().keys.shifted(GLFW_KEY_Z);
    const auto tell = [&](const Result<std::string>& act, const char* before, const char* after) { w_.did(act, act ? before + *act + after : ""); };
    if (ctrl(GLFW_KEY_Z) && !shift) tell(desk::undo(w_.desk, w_.session), "Undone: ", "; Ctrl+Y does it again");
    else if (ctrl(GLFW_KEY_Y) || (ctrl(GLFW_KEY_Z) && shift)) tell(desk::redo(w_.desk, w_.session), "Done again: ", "");
    else if (ctrl(GLFW_KEY_E)) session_desk_.swap_side(w_);
    else if (ctrl(GLFW_KEY_UP) && w_.at == DeskName::clip) clip_desk_.key(w_, "k");
    else if (ctrl(GLFW_KEY_DOWN) && w_.at == DeskName::clip) clip_desk_.key(w_, "j");
    else if (ctrl(GLFW_KEY_B) && w_.at == DeskName::session) session_desk_.go_to_sharpest(w_);
    else if (ctrl(GLFW_KEY_C) && w_.at == DeskName::session) session_desk_.copy_record(w_);
    else if (ctrl(GLFW_KEY_M) && w_.at == DeskName::session && !w_.event.empty()) {
        desk::EditWish wish;
        wish.at = w_.player.at();
        w_.did(desk::edit_event(w_.desk, w_.session, w_.event, wish), "Moved");
    } else return;
    clip_desk_.read(w_);
}

// Letters and digits as they were typed, whatever the keyboard's layout.
void Window::handle_typed() {
    const ImGuiIO& io = ImGui::GetIO();
    for (const ImWchar c : io.InputQueueCharacters) {
        if (c <= ' ' || c > 126) continue;
        const std::string key(1, static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c));
        if (key == ",") w_.player.set_pace(w_.player.pace() / 2);
        else if (key == ".") w_.player.set_pace(w_.player.pace() * 2);
        else if (w_.at == DeskName::session && key == "=") session_desk_.accept_chosen(w_);
        else if (w_.at == DeskName::session) session_desk_.key(w_, key);
        else if (w_.at == DeskName::privacy) privacy_desk_.key(w_, key);
        else if (w_.at == DeskName::clip) clip_desk_.key(w_, key);
    }
}

void Window::handle_arrows() {
    const int across = held(GLFW_KEY_RIGHT) ? 1 : held(GLFW_KEY_LEFT) ? -1 : 0, down_by = held(GLFW_KEY_DOWN) ? 1 : held(GLFW_KEY_UP) ? -1 : 0;
    if (!across && !down_by) return;
    bool shift = false;
    for (int key : {GLFW_KEY_RIGHT, GLFW_KEY_LEFT, GLFW_KEY_UP, GLFW_KEY_DOWN}) shift = shift || ui().keys.shifted(key);
    if (w_.at == DeskName::clip && clip_desk_.placing()) return clip_desk_.nudge(w_, across, down_by, shift);
    if (FilmPreview& film = clip_desk_.preview(); film.on()) {
        if (across && shift) film.go(film.at() + across);
        else if (across) film.step(across);
        if (down_by) go_to_item(film, down_by);
        return;
    }
    if (across && shift) w_.player.go(w_.player.at() + across * kSecond);
    else if (across) w_.player.step(across);
    if (down_by) session_desk_.go_to_event(w_, down_by);
}

void Window::handle_keys() {
    const ImGuiIO& io = ImGui::GetIO();
    for (int i = 0; i < 4; ++i)
        if (down(GLFW_KEY_F2 + i) && (i == 3 || !w_.session.empty())) go_to(static_cast<DeskName>(i));
    constexpr double kLouder = 0.1;
    if (down(GLFW_KEY_F6)) set_volume(w_.settings.volume, !w_.settings.muted);
    if (held(GLFW_KEY_F7)) set_volume(w_.settings.volume - kLouder, w_.settings.muted);
    if (held(GLFW_KEY_F8)) set_volume(w_.settings.volume + kLouder, false);
    if (down(GLFW_KEY_F1)) keys_shown_ = !keys_shown_;
    if (down(GLFW_KEY_ESCAPE)) clip_desk_.stop_placing();
    if (down(GLFW_KEY_ESCAPE)) keys_shown_ = false, pane_.stop_asking(), map_.stop_asking(), w_.complaint.clear(), w_.news.clear();
    handle_control_keys();
    if (ui().typing() || w_.session.empty() || w_.at == DeskName::library) return;
    if (down(GLFW_KEY_SPACE)) play_or_stop();
    handle_arrows();
    FilmPreview& film = clip_desk_.preview();
    if (down(GLFW_KEY_HOME)) film.on() ? film.go(0) : w_.player.go(w_.player.whole().start);
    if (down(GLFW_KEY_END)) film.on() ? film.go(film.outline().length) : w_.player.go(w_.player.whole().end);
    if (down(GLFW_KEY_ESCAPE)) film.stop();
    if (down(GLFW_KEY_DELETE) && w_.at == DeskName::session) session_desk_.remove_chosen(w_);
    if (down(GLFW_KEY_DELETE) && w_.at == DeskName::clip) clip_desk_.key(w_, "del");
    if (!io.KeyAlt) handle_typed();
}

}  // namespace canalogue::editor
