// The window's fixed parts: rail, transport, panel, messages.
#include <GLFW/glfw3.h>

#include <algorithm>

#include "app/core/time_left.hpp"
#include "app/editor/film_transport.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/editor/window.hpp"

namespace canalogue::editor {

namespace {

struct DeskLine {
    DeskName name;
    const char *words, *key;
};
constexpr DeskLine kDesks[] = {{DeskName::session, "Session", "F2"}, {DeskName::privacy, "Privacy", "F3"}, {DeskName::clip, "Clip", "F4"}, {DeskName::library, "Library", "F5"}};

constexpr float kTransport = 50;

std::string pace_words(double pace) {
    char text[16];
    std::snprintf(text, sizeof text, "%gx", pace);
    return text;
}

}  // namespace

void Window::draw_rail(ImVec2 size) {
    ImGui::SetCursorPos({0, 0});
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {px(12), px(14)});
    ImGui::PushStyleColor(ImGuiCol_ChildBg, colour4(theme().panel));
    ImGui::BeginChild("rail", size, false, ImGuiWindowFlags_AlwaysUseWindowPadding);
    ImGui::PopStyleColor();
    ImGui::PopStyleVar();
    title(w_.session.empty() ? "Canalogue" : w_.session.c_str());
    if (!w_.settings.clinic.empty()) quiet(w_.settings.clinic.c_str());
    gap(8);
    quiet("Next");
    const auto duty = w_.duty();
    ImGui::PushFont(ui().fonts.strong);
    said(duty.words.c_str(), theme().accent);
    ImGui::PopFont();
    probe().mark("duty", ImGui::GetItemRectMin().x, ImGui::GetItemRectMin().y, ImGui::GetItemRectSize().x, ImGui::GetItemRectSize().y, duty.words);
    if (ImGui::IsItemClicked()) go_to(duty.desk);
    gap(10);
    for (const auto& d : kDesks) {
        const bool possible = d.name == DeskName::library || !w_.session.empty();
        if (button(std::string("desk ") + d.words, d.words, d.key, w_.at == d.name ? Look::chosen : Look::bare, possible, -1)) go_to(d.name);
    }
    // Work under way, at the foot.
    float below = px(110);
    for (const auto& job : w_.jobs.lines())
        if (!job.quiet) below += px(64);
    ImGui::SetCursorPosY(std::max(ImGui::GetCursorPosY(), size.y - below));
    for (const auto& job : w_.jobs.lines()) {
        if (job.quiet) continue;
        quiet((job.stage.empty() ? job.title : job.stage).c_str());
        const ImVec2 at = ImGui::GetCursorScreenPos();
        const float width = ImGui::GetContentRegionAvail().x;
        ImDrawList* draw = ImGui::GetWindowDrawList();
        draw->AddRectFilled(at, {at.x + width, at.y + px(6)}, colour(theme().ground), px(3));
        draw->AddRectFilled(at, {at.x + width * static_cast<float>(std::clamp(job.done, 0.0, 1.0)), at.y + px(6)}, colour(theme().accent), px(3));
        probe().mark("job", at.x, at.y, width, px(6), job.title);
        gap(8);
        std::string left;
        if (const auto there = time_left(std::chrono::nanoseconds(nanos_from_seconds(job.seconds)), job.done)) left = format_clock(there->count()) + " left  ";
        if (button("stop " + job.title, left + "Stop", "", Look::bare, true, -1)) w_.jobs.stop(job.title);
    }
    ImGui::SetCursorPosY(size.y - px(96));
    if (button("keys", "Keys", "F1", keys_shown_ ? Look::chosen : Look::bare, true, -1)) keys_shown_ = !keys_shown_;
    if (button("theme", w_.settings.light ? "Dark look" : "Light look", "", Look::bare, true, -1)) {
        w_.settings.light = !w_.settings.light;
        use_theme(w_.settings.light);
        keep_settings(w_.desk.library.folder(), w_.settings);
        scale_changed_ = true;
    }
    ImGui::EndChild();
}

// What is seen is what plays.
void Window::play_or_stop() {
    FilmPreview& film = clip_desk_.preview();
    if (film.on()) return film.play(!film.playing());
    w_.player.play(!w_.player.playing());
}

void Window::set_volume(double volume, bool muted) {
    w_.settings.volume = std::clamp(volume, 0.0, 1.0);
    w_.settings.muted = muted;
    hear_volume();
    keep_settings(w_.desk.library.folder(), w_.settings);
}

void Window::hear_volume() { w_.player.sound().set_volume(w_.settings.muted ? 0 : w_.settings.volume); }

// The right end of the transport.
constexpr float kMute = 34, kSlider = 50, kVolume = kMute + kSlider + 6;

void Window::draw_volume(ImVec2 from, float right) {
    const float x = right - px(kVolume);
    if (ImGui::GetItemRectMax().x + px(8) > x) return;  // no room: the keys remain
    ImGui::SetCursorScreenPos({x, from.y + px(8)});
    const bool muted = w_.settings.muted;
    if (sound_button("mute", muted)) set_volume(w_.settings.volume, !muted);
    if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s (F6)", !w_.player.sound().device() ? "No sound device was found" : muted ? "Sound on" : "Sound off");
    ImGui::SetCursorScreenPos({x + px(kMute), from.y + px(8)});
    double volume = w_.settings.volume;
    const Slide slide = slider("volume", volume, px(kSlider), muted);
    if (slide.moved) w_.settings.volume = volume, w_.settings.muted = false, hear_volume();
    if (slide.done) set_volume(volume, false);
    if (ImGui::IsItemHovered()) ImGui::SetTooltip("How loud you hear it; a film is not changed (F8, F7)");
}

void Window::draw_transport(ImVec2 from, ImVec2 size) {
    ImGui::GetWindowDrawList()->AddRectFilled(from, {from.x + size.x, from.y + size.y}, colour(theme().panel));
    if (clip_desk_.preview().on()) {
        draw_film_transport(clip_desk_.preview(), from, from.x + size.x - px(kVolume + 16));
        return draw_volume(from, from.x + size.x);
    }
    ImGui::SetCursorScreenPos({from.x + px(10), from.y + px(8)});
    const bool any = !w_.view.recordings.empty();
    if (button("play", w_.player.playing() ? "Stop" : "Play", "Space", Look::primary, any, px(122))) play_or_stop();
    ImGui::SameLine(0, px(12));
    ImGui::PushFont(ui().fonts.title);
    const Nanos at = w_.player.at().ns;
    char clock[48];
    std::snprintf(clock, sizeof clock, "%s.%03d", format_clock(at).c_str(), static_cast<int>(at / kMillisecond % 1000));
    ImGui::SetCursorScreenPos({ImGui::GetCursorScreenPos().x, from.y + px(12)});
    ImGui::TextUnformatted(clock);
    probe().mark("clock", ImGui::GetItemRectMin().x, ImGui::GetItemRectMin().y, 1, 1, std::to_string(at));
    ImGui::PopFont();
    ImGui::SetCursorScreenPos({from.x + px(262), from.y + px(8)});
    // What has no room is left to its key.
    const float right = from.x + size.x;
    if (button("pace", pace_words(w_.player.pace()), ", .", Look::plain, any)) w_.player.set_pace(w_.player.pace() >= 4 ? 0.25 : w_.player.pace() * 2);
    ImGui::SameLine();
    const bool looped = w_.player.loop().has_value();
    if (button("loop", looped ? "Loop off" : "Loop", "", looped ? Look::chosen : Look::plain, any)) {
        if (looped) w_.player.set_loop(std::nullopt);
        else map_.ask_for_span([this](SessionSpan s) { w_.player.set_loop(s); });
    }
    const std::pair<CoverLook, const char*> looks[] = {{CoverLook::outlines, "Outlines"}, {CoverLook::as_rendered, "Covered"}, {CoverLook::off, "Bare"}};
    for (const auto& [look, words] : looks) {
        ImGui::SameLine(0, look == CoverLook::outlines ? px(18) : px(4));
        if (ImGui::GetCursorScreenPos().x + px(84) > right) break;
        const bool locked = look == CoverLook::off && w_.passphrase.empty();
        if (button(std::string("look ") + words, words, "", w_.covers == look ? Look::chosen : Look::plain, any && !locked)) w_.covers = look;
        if (locked && ImGui::IsItemHovered()) ImGui::SetTooltip("Unlock the library on the Privacy desk to take covers off");
    }
    draw_volume(from, right);
}

void Window::draw_middle(ImVec2 from, ImVec2 size) {
    if (w_.at == DeskName::library) {
        library_desk_.draw_sheet(w_, from, size);
        return draw_messages(from, size);
    }
    const MapExtras more = extras();
    map_.trimmed = [this](std::size_t passage, RecordingSpan span, bool done) { clip_desk_.trim(w_, passage, span, done); };
    pane_.guest = nullptr, pane_.marks = nullptr;
    if (w_.at == DeskName::clip) pane_.marks = [this](const PictureOnScreen& picture) { clip_desk_.draw_spots(w_, picture); };
    if (w_.at == DeskName::clip && clip_desk_.placing()) pane_.guest = [this](const PictureOnScreen& picture) { clip_desk_.on_picture(w_, picture); };
    const float map = TimeMap::height_for(more), bar = px(kTransport);
    const ImVec2 picture{size.x, std::max(px(120), size.y - map - bar)};
    clip_desk_.preview().set_room({static_cast<int>(picture.x), static_cast<int>(picture.y)});
    if (w_.at == DeskName::clip && clip_desk_.preview().on()) clip_desk_.preview().draw(from, picture);
    else pane_.draw(w_, from, picture);
    draw_messages(from, picture);
    draw_transport({from.x, from.y + picture.y}, {size.x, bar});
    map_.draw(w_, more, {from.x, from.y + picture.y + bar}, {size.x, map});
}

// Over the foot of the picture: where one looks, and where nothing moves out from under the hand.
void Window::draw_messages(ImVec2 from, ImVec2 size) {
    constexpr double kNewsStays = 8;
    if (w_.news != last_news_) last_news_ = w_.news, w_.news_at = ImGui::GetTime();
    if (ImGui::GetTime() - w_.news_at > kNewsStays) w_.news.clear();
    const bool bad = !w_.complaint.empty();
    const std::string& words = bad ? w_.complaint : w_.news;
    if (words.empty()) return;
    const float pad = px(14), most = std::min(size.x - 4 * pad, px(640));
    const ImVec2 need = ImGui::CalcTextSize(words.c_str(), nullptr, false, most);
    const ImVec2 a{from.x + pad, from.y + size.y - need.y - 3 * pad}, b{a.x + need.x + 2 * pad, a.y + need.y + 2 * pad};
    ImDrawList* draw = ImGui::GetForegroundDrawList();
    draw->AddRectFilled(a, b, colour(theme().raised), px(6));
    draw->AddRectFilled(a, {a.x + px(5), b.y}, colour(bad ? theme().danger : theme().accent), px(3));
    draw->AddText(ui().fonts.body, ImGui::GetFontSize(), {a.x + pad + px(3), a.y + pad}, colour(bad ? theme().danger : theme().text), words.c_str(), nullptr, most);
    probe().mark(bad ? "complaint" : "news", a.x, a.y, b.x - a.x, b.y - a.y, words);
}

void Window::draw_panel(ImVec2 size) {
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {px(14), px(12)});
    ImGui::PushStyleColor(ImGuiCol_ChildBg, colour4(theme().panel));
    ImGui::BeginChild("panel", size, false, ImGuiWindowFlags_AlwaysUseWindowPadding | ImGuiWindowFlags_NoScrollbar);
    ImGui::PopStyleColor();
    ImGui::PopStyleVar();
    ImGui::BeginChild("desk", {0, size.y - px(24)});
    switch (w_.at) {
        case DeskName::session: session_desk_.draw(w_); break;
        case DeskName::privacy: privacy_desk_.draw(w_); break;
        case DeskName::clip: clip_desk_.draw(w_); break;
        case DeskName::library: library_desk_.draw(w_); break;
    }
    ImGui::EndChild();
    ImGui::EndChild();
}

}  // namespace canalogue::editor
