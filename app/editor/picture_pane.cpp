#include "app/editor/picture_pane.hpp"

#include <algorithm>
#include <cmath>

#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "export/cover_fill.hpp"

namespace canalogue::editor {

namespace {

std::uint64_t fingerprint(const std::vector<StoredBox>& boxes) {
    std::uint64_t h = 1469598103934665603u;
    for (const auto& b : boxes)
        for (int v : {b.x, b.y, b.w, b.h}) h = (h ^ static_cast<std::uint64_t>(static_cast<std::uint32_t>(v))) * 1099511628211u;
    return h;
}

// Words over the picture, legible on bright wax and on black alike: on a ground of their own.
void plaque(ImDrawList* draw, ImVec2 at, const char* words, ImFont* font, Rgb text, Rgb ground) {
    ImGui::PushFont(font);
    const ImVec2 need = ImGui::CalcTextSize(words);
    const float x = px(12), y = px(6);
    draw->AddRectFilled(at, {at.x + need.x + 2 * x, at.y + need.y + 2 * y}, colour(ground), px(6));
    draw->AddText({at.x + x, at.y + y}, colour(text), words);
    ImGui::PopFont();
}

}  // namespace

std::optional<UprightBox> box_at(const Suspect& s, RecordingTime t) {
    if (s.track.empty()) return std::nullopt;
    const TrackPoint* best = &s.track.front();
    for (const auto& p : s.track)
        if (p.t <= t) best = &p;
    return best->box;
}

ImVec2 PicturePane::to_screen(float x, float y) const { return {origin_.x + x * pixel_, origin_.y + y * pixel_}; }
ImVec2 PicturePane::to_picture(ImVec2 s) const { return {(s.x - origin_.x) / pixel_, (s.y - origin_.y) / pixel_}; }

bool PicturePane::upload(const media::Picture& picture, const Recording& r, const std::vector<StoredBox>& boxes, Size most) {
    media::Picture shown = picture;
    if (!boxes.empty()) {
        if (!shown.own() || !film::lay_covers(shown, boxes)) return false;
    }
    return texture_.show(shown, r.rotation, most.w > 0 ? std::optional(most) : std::nullopt);
}

std::optional<SessionTime> PicturePane::shown_at(const SessionView& view) const {
    const Recording* r = view.recording(shown_.recording);
    const auto index = view.indexes.find(shown_.recording);
    if (!r || index == view.indexes.end() || shown_.frame >= index->second->size()) return std::nullopt;
    return r->session_time(index->second->time(shown_.frame));
}

// Brings the frame that is showing into the texture, once it is here. Until then the older one stands.
void PicturePane::refresh(Workplace& w) {
    const auto now = w.player.showing();
    if (!now) {
        shown_ = {};
        shown_publicly_.reset();
        return;
    }
    const bool covered = w.covers == CoverLook::as_rendered;
    std::vector<StoredBox> boxes;
    const auto it = w.view.covers.find(now->recording->id);
    if (covered && it != w.view.covers.end()) boxes = it->second.boxes_during({now->time, now->until}, now->recording->stored);
    whole_ = covered && it != w.view.covers.end() && it->second.whole_during({now->time, now->until});
    // Moving pictures are drawn as large as they stand on the screen; a picture that stands still, in full.
    const auto on_screen = [&](int pixels) { return std::max(16, static_cast<int>(std::ceil(static_cast<float>(pixels) * pixel_))); };
    const Size most = w.player.playing() && size_.w > 0 ? Size{on_screen(size_.w), on_screen(size_.h)} : Size{};
    const Key wanted{now->recording->id, now->frame, covered, fingerprint(boxes), most};
    if (!(wanted == shown_)) {
        const auto picture = w.player.picture();
        if (!picture) {
            if (late_since_ == 0) late_since_ = ImGui::GetTime();
            shown_publicly_.reset();
            // The very same frame, smaller, until it is here in full. Never where covers must be laid.
            const auto copy = w.view.reduced.find(now->recording->id);
            const auto small = covered || copy == w.view.reduced.end() ? std::nullopt : copy->second->frame(now->frame);
            reduced_ = small && texture_.show(*small, now->recording->rotation);
            if (reduced_) size_ = upright_size(now->recording->stored, now->recording->rotation), shown_ = {now->recording->id, now->frame, false, 1, {}};
            return;
        }
        unshowable_ = !upload(*picture, *now->recording, boxes, most);
        reduced_ = false;
        size_ = upright_size(picture->size(), now->recording->rotation);
        shown_ = wanted;
    }
    late_since_ = 0;
    shown_publicly_ = covered && !unshowable_ ? std::optional(std::pair(now->recording->id, now->frame)) : std::nullopt;
}

void PicturePane::handle_mouse(Workplace&, ImVec2 from, ImVec2 size) {
    const ImGuiIO& io = ImGui::GetIO();
    const bool over = ImGui::IsItemHovered();
    const ImVec2 mouse = io.MousePos;
    const Size picture = size_;
    if (picture.w == 0) return;
    if (over && io.MouseWheel != 0) {
        // The point under the pointer stays where it is.
        const ImVec2 before = to_picture(mouse);
        zoom_by(io.MouseWheel > 0 ? 1.25f : 0.8f);
        const float fit = std::min(size.x / static_cast<float>(picture.w), size.y / static_cast<float>(picture.h));
        const float scale = fit * zoom_;
        const ImVec2 middle{from.x + size.x / 2, from.y + size.y / 2};
        centre_ = {(before.x - (mouse.x - middle.x) / scale) / static_cast<float>(picture.w), (before.y - (mouse.y - middle.y) / scale) / static_cast<float>(picture.h)};
    }
    if (guest) return;
    if (over && ImGui::IsMouseDoubleClicked(0) && !asking()) fit();
    if (ImGui::IsItemActive() && !asking() && ImGui::IsMouseDragging(0)) {
        centre_.x -= io.MouseDelta.x / pixel_ / static_cast<float>(picture.w);
        centre_.y -= io.MouseDelta.y / pixel_ / static_cast<float>(picture.h);
    }
    if (!asking()) return;
    if (over) ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeNWSE);
    if (over && ImGui::IsMouseClicked(0)) drag_ = to_picture(ui().pressed_at);
    if (!drag_ || !ImGui::IsMouseReleased(0)) return;
    const ImVec2 end = to_picture(ui().released_at);
    const auto clamp = [](float v, int most) { return std::clamp(static_cast<int>(std::lround(v)), 0, most); };
    const int x0 = clamp(std::min(drag_->x, end.x), picture.w), x1 = clamp(std::max(drag_->x, end.x), picture.w);
    const int y0 = clamp(std::min(drag_->y, end.y), picture.h), y1 = clamp(std::max(drag_->y, end.y), picture.h);
    drag_.reset();
    if (x1 - x0 < 4 || y1 - y0 < 4) return;  // a slip: ask again
    const auto then = std::exchange(box_wanted_, nullptr);
    then({x0, y0, x1 - x0, y1 - y0});
}

void PicturePane::draw_outlines(const Workplace& w) {
    const auto now = w.player.showing();
    if (!now) return;
    ImDrawList* draw = ImGui::GetWindowDrawList();
    for (const auto& line : w.view.suspects) {
        const Suspect& s = line.suspect;
        if (s.recording != now->recording->id || !s.span.holds(std::max(now->time, s.span.start)) || now->time >= s.span.end || now->until <= s.span.start) continue;
        const bool chosen = s.id == w.suspect && w.at == DeskName::privacy;
        const bool harmless = s.decision.verdict == Verdict::harmless;
        if (w.covers == CoverLook::as_rendered && !chosen) continue;
        if (w.covers == CoverLook::off && !chosen) continue;
        const auto box = box_at(s, now->time);
        if (!box) continue;
        const ImVec2 a = to_screen(static_cast<float>(box->x), static_cast<float>(box->y)), b = to_screen(static_cast<float>(box->right()), static_cast<float>(box->bottom()));
        const Rgb c = chosen ? theme().accent : harmless ? Rgb{0x9F, 0xB4, 0xB6} : Rgb{255, 255, 255};
        // A light line on a dark one is seen on bright wax and on black.
        draw->AddRect({a.x - 1, a.y - 1}, {b.x + 1, b.y + 1}, IM_COL32(0, 0, 0, 200), 0, 0, px(chosen ? 5.0f : 4.0f));
        draw->AddRect(a, b, colour(c), 0, 0, px(chosen ? 2.5f : 1.5f));
    }
}

void PicturePane::draw_side(const Workplace& w, ImVec2 from, ImVec2 size) const {
    const auto ear = w.ear_now();
    const bool known = ear.has_value();
    const char* words = !known ? "SIDE?" : *ear == Ear::right ? "RIGHT EAR" : "LEFT EAR";
    // The right ear's plaque stands left as seen by whoever faces the patient: the same place always.
    plaque(ImGui::GetWindowDrawList(), {from.x + px(14), from.y + px(14)}, words, ui().fonts.large, known ? film::kAmber : Rgb{0xFF, 0x9B, 0x7A}, film::kInk);
    probe().mark("side", from.x + px(14), from.y + px(14), size.x, px(40), words);
}

void PicturePane::draw_state(Workplace& w, ImVec2 from, ImVec2 size) const {
    ImDrawList* draw = ImGui::GetWindowDrawList();
    std::string words;
    if (const auto trouble = w.player.trouble(); !trouble.empty()) words = trouble;
    else if (unshowable_ && shown_.frame != SIZE_MAX) words = "This picture's format cannot be shown.";
    else if (reduced_) words = "Reduced copy";
    else if (late_since_ > 0 && ImGui::GetTime() - late_since_ > 0.15) words = "Looking for this frame \u2026";
    else if (w.covers == CoverLook::off) words = "Covers are off: for your eyes only";
    else if (w.covers == CoverLook::as_rendered) words = whole_ ? "Wholly covered here" : "As learners will see it";
    if (words.empty()) return;
    ImGui::PushFont(ui().fonts.body);
    const float width = ImGui::CalcTextSize(words.c_str()).x + px(24);
    ImGui::PopFont();
    // Where both have no room beside one another, the side keeps its place.
    ImGui::PushFont(ui().fonts.large);
    const bool tight = width + px(14) > size.x - px(14 + 36) - ImGui::CalcTextSize("RIGHT EAR").x;
    ImGui::PopFont();
    plaque(draw, {from.x + size.x - width - px(14), from.y + px(tight ? 64 : 14)}, words.c_str(), ui().fonts.body, film::kMist, film::kInk);
    probe().mark("picture state", from.x, from.y, size.x, px(30), words);
}

void PicturePane::draw(Workplace& w, ImVec2 from, ImVec2 size) {
    refresh(w);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    ImGui::SetCursorScreenPos(from);
    ImGui::InvisibleButton("picture", {std::max(1.0f, size.x), std::max(1.0f, size.y)});
    const Size picture = size_;
    probe().mark("picture", from.x, from.y, size.x, size.y, shown_.recording.empty() ? "" : shown_.recording + " " + std::to_string(shown_.frame));
    if (w.player.showing() && picture.w > 0 && shown_.frame != SIZE_MAX && !unshowable_) {
        if (zoom_ <= 1.001f) centre_ = {0.5f, 0.5f};
        const float fit = std::min(size.x / static_cast<float>(picture.w), size.y / static_cast<float>(picture.h));
        pixel_ = fit * zoom_;
        // On whole pixels: what is as large as it stands there is then drawn as it is.
        origin_ = {std::round(from.x + size.x / 2 - centre_.x * static_cast<float>(picture.w) * pixel_), std::round(from.y + size.y / 2 - centre_.y * static_cast<float>(picture.h) * pixel_)};
        const bool over = ImGui::IsItemHovered();
        handle_mouse(w, from, size);
        picture_in(from, size, texture_.texture(), origin_, to_screen(static_cast<float>(picture.w), static_cast<float>(picture.h)));
        draw->PushClipRect(from, {from.x + size.x, from.y + size.y}, true);
        draw_outlines(w);
        const PictureOnScreen place{origin_, {static_cast<float>(picture.w) * pixel_, static_cast<float>(picture.h) * pixel_}, over};
        if (marks) marks(place);
        if (guest) guest(place);
        if (drag_) draw->AddRect(to_screen(drag_->x, drag_->y), ImGui::GetIO().MousePos, colour(film::kAmber), 0, 0, px(2));
        draw->PopClipRect();
    } else draw->AddRectFilled(from, {from.x + size.x, from.y + size.y}, IM_COL32(0, 0, 0, 255));
    if (!w.view.recordings.empty()) draw_side(w, from, size);
    draw_state(w, from, size);
}

}  // namespace canalogue::editor
