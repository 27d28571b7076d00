#include "app/editor/session_desk.hpp"

#include <algorithm>
#include <cmath>

#include "app/core/event_rules.hpp"
#include "app/desk/gauging.hpp"
#include "app/desk/importing.hpp"
#include "app/desk/tagging.hpp"
#include "app/editor/mark_textures.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/editor/words_warning.hpp"
#include "export/stills.hpp"

namespace canalogue::editor {

namespace {

std::string short_time(Nanos t) { return format_time(t / (kSecond / 10) * (kSecond / 10)); }

const Attribute kDepthChoice{"depth", "Depth", AttributeType::choice, {"outer", "middle", "deep"}, ""};

}  // namespace

void SessionDesk::place(Workplace& w, const EventKind& kind) {
    const SessionTime now = w.player.at();
    if (const auto it = running_.find(kind.id); it != running_.end()) {
        desk::EditWish wish;
        wish.until = now;
        const auto done = desk::edit_event(w.desk, w.session, it->second, wish);
        const std::string id = it->second;
        running_.erase(it);
        if (w.did(done, kind.name + " ends")) w.event = id;
        return;
    }
    desk::TagWish wish{w.session, kind.id, now, std::nullopt, std::nullopt, {}, ""};
    // What was set last is offered again, but never where on the clock: that is looked at each time.
    for (const auto& [key, value] : last_[kind.id])
        if (kind.attribute(key)) wish.attributes.emplace_back(key, value);
    const auto done = desk::tag(w.desk, wish);
    if (!done) {
        w.failed(done.failure());
        return;
    }
    w.event = done->event.id;
    if (kind.span) running_[kind.id] = done->event.id;
    w.succeeded(done->warnings.empty() ? kind.name + (kind.span ? " begins: the same key ends it" : "") : done->warnings.front());
}

void SessionDesk::key(Workplace& w, const std::string& key) {
    for (const auto& kind : w.view.vocabulary.kinds())
        if (kind.key == key) return place(w, kind);
}

void SessionDesk::remove_chosen(Workplace& w) {
    if (w.event.empty()) return;
    const std::string id = w.event;
    std::erase_if(running_, [&](const auto& r) { return r.second == id; });
    w.did(desk::delete_event(w.desk, w.session, id), "Taken away; Ctrl+Z brings it back");
}

void SessionDesk::accept_chosen(Workplace& w) {
    const Event* e = w.view.event(w.event);
    if (!e || e->origin != Origin::suggestion) return;
    desk::EditWish wish;
    wish.accept = true;
    w.did(desk::edit_event(w.desk, w.session, w.event, wish), "Accepted");
}

void SessionDesk::swap_side(Workplace& w) {
    const Recording* r = recording_at(w.view.recordings, w.player.at());
    if (!r) return;
    // From here to where the side changes by itself, or the recording ends.
    SessionSpan span{w.player.at(), r->session_span().end};
    const RecordingTime now = r->recording_time(w.player.at());
    std::optional<Ear> to = Ear::right;
    for (const auto& e : r->ears)
        if (e.span.holds(now)) span = {r->session_time(e.span.start), r->session_time(e.span.end)}, to.reset();
    w.did(desk::set_side(w.desk, w.session, span, to), "Side changed here, its events with it; Ctrl+Z takes it back");
}

void SessionDesk::copy_record(Workplace& w) const {
    ImGui::SetClipboardText(w.record().c_str());
    w.news = "The record is on the clipboard";
}

void SessionDesk::go_to_sharpest(Workplace& w) const {
    const auto now = w.player.showing();
    const auto index = now ? w.view.indexes.find(now->recording->id) : w.view.indexes.end();
    if (index == w.view.indexes.end() || w.jobs.running("Looking for the sharpest frame")) return;
    w.player.play(false);
    const film::SourceRecording source{*now->recording, index->second, {}};
    w.jobs.start("Looking for the sharpest frame", [&w, source, at = now->time](const Progress&) -> Result<Jobs::Then> {
        auto opened = film::PictureSource::open(source, {960, 540}, 0);
        if (!opened) return opened.failure();
        auto best = film::sharpest_near(*opened, source.recording, at);
        if (!best) return best.failure();
        return Jobs::Then([&w, t = source.recording.session_time(best->time)] {
            w.player.go(t);
            w.news = "The sharpest frame within half a second";
        });
    });
}

void SessionDesk::go_to_event(Workplace& w, int direction) const {
    const Event* best = nullptr;
    for (const auto& e : w.view.events) {
        const SessionTime t = w.view.time_of(e);
        if (direction > 0 && t > w.player.at()) {
            best = &e;
            break;
        }
        if (direction < 0 && t < w.player.at()) best = &e;
    }
    if (!best) return;
    w.event = best->id;
    w.player.go(w.view.time_of(*best));
}

void SessionDesk::set(Workplace& w, const Event& e, const std::string& attribute, const std::string& value) {
    desk::EditWish wish;
    if (attribute == "note") wish.note = value;
    else wish.attributes = {{attribute, value}};
    const std::string kind = e.kind;
    const auto done = desk::edit_event(w.desk, w.session, e.id, wish);
    if (done && attribute != "note" && attribute != "clock") last_[kind][attribute] = value;
    w.did(done, done && !done->warnings.empty() ? done->warnings.front() : "");
}

void SessionDesk::draw_places(Workplace& w) {
    quiet("A key places its event at the frame that is shown, while the film runs.");
    gap(2);
    const Event* chosen = w.view.event(w.event);
    const float room = ImGui::GetContentRegionAvail().y;
    ImGui::BeginChild("kinds", {0, chosen ? std::max(px(170), room - px(360)) : 0});
    const float width = (ImGui::GetContentRegionAvail().x - px(8)) / 2, height = px(38);
    ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {px(8), px(3)});
    int column = 0;
    for (const auto& kind : w.view.vocabulary.kinds()) {
        if (column == 1) ImGui::SameLine(0, px(8));
        ImGui::BeginGroup();
        const ImVec2 from = ImGui::GetCursorScreenPos(), to{from.x + width, from.y + height};
        ImGui::PushID(kind.id.c_str());
        const bool pressed = ImGui::InvisibleButton("k", {width, height});
        ImGui::PopID();
        const bool running = running_.count(kind.id) > 0;
        ImDrawList* draw = ImGui::GetWindowDrawList();
        draw->AddRectFilled(from, to, colour(running ? theme().accent : ImGui::IsItemHovered() ? theme().edge : theme().raised), px(5));
        const Rgb ink = running ? theme().on_accent : theme().text;
        marks().draw(draw, {from.x + px(17), from.y + height / 2}, px(21), kind.symbol);
        std::string key = kind.key;
        for (char& c : key) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
        const float key_width = ImGui::CalcTextSize(key.c_str()).x;
        text_in_two({from.x + px(34), from.y}, {width - px(34) - key_width - px(16), height}, running ? kind.name + " \u2026" : kind.name, ink);
        draw->AddText({to.x - px(8) - key_width, from.y + (height - ImGui::GetFontSize()) / 2}, colour(running ? theme().on_accent : theme().quiet), key.c_str());
        if (ImGui::IsItemHovered() && !kind.caution.empty()) ImGui::SetTooltip("%s\n%s", kind.name.c_str(), kind.caution.c_str());
        probe().mark("kind " + kind.id, from.x, from.y, width, height, running ? "on" : "");
        if (pressed) place(w, kind);
        ImGui::EndGroup();
        column = 1 - column;
    }
    ImGui::PopStyleVar();
    ImGui::EndChild();
    // An act above may have read the session again.
    if (const Event* still = w.view.event(w.event)) draw_below(w, *still);
}

void SessionDesk::draw_below(Workplace& w, const Event& e) {
    const ImVec2 line = ImGui::GetCursorScreenPos();
    ImGui::GetWindowDrawList()->AddLine(line, {line.x + ImGui::GetContentRegionAvail().x, line.y}, colour(theme().edge), px(1));
    gap(4);
    ImGui::BeginChild("chosen");
    draw_chosen(w, e);
    ImGui::EndChild();
}

// Looking into the ear: twelve is up. Stands at the upper right of the chosen event.
void SessionDesk::draw_dial(Workplace& w, const Event& e, ImVec2 from) {
    const float r = px(56);
    const ImVec2 middle{from.x + r, from.y + r}, back = ImGui::GetCursorPos();
    ImGui::SetCursorScreenPos(from);
    ImGui::InvisibleButton("dial", {2 * r, 2 * r});
    ImDrawList* draw = ImGui::GetWindowDrawList();
    draw->AddCircleFilled(middle, r, colour(theme().ground));
    draw->AddCircle(middle, r, colour(theme().edge), 0, px(2));
    const auto it = e.attributes.find("clock");
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    const float dx = mouse.x - middle.x, dy = mouse.y - middle.y;
    int hovered = 0;
    if (ImGui::IsItemHovered()) {
        ImGui::SetTooltip("Where on the clock, looking into the ear; 12 is up");
        hovered = static_cast<int>(std::lround(std::atan2(dx, -dy) / (3.14159265f / 6)));
        hovered = std::hypot(dx, dy) < px(12) ? 0 : hovered <= 0 ? hovered + 12 : hovered;
    }
    for (int h = 1; h <= 12; ++h) {
        const float angle = static_cast<float>(h) * 3.14159265f / 6, at = r - px(14);
        const ImVec2 p{middle.x + at * std::sin(angle), middle.y - at * std::cos(angle)};
        const std::string words = std::to_string(h);
        const bool chosen = it != e.attributes.end() && it->second == words;
        if (chosen || h == hovered) draw->AddCircleFilled(p, px(13), colour(chosen ? theme().accent : theme().edge));
        const ImVec2 size = ImGui::CalcTextSize(words.c_str());
        draw->AddText({p.x - size.x / 2, p.y - size.y / 2}, colour(chosen ? theme().on_accent : theme().text), words.c_str());
        probe().mark("clock " + words, p.x - px(10), p.y - px(10), px(20), px(20), chosen ? "on" : "");
    }
    const bool clicked = hovered && ImGui::IsMouseClicked(0);
    ImGui::SetCursorPos(back);
    if (!clicked) return;
    const std::string words = std::to_string(hovered);
    set(w, e, "clock", it != e.attributes.end() && it->second == words ? "" : words);
}

void SessionDesk::draw_attribute(Workplace& w, const Event& e, const Attribute& a) {
    const auto it = e.attributes.find(a.id);
    const std::string value = it == e.attributes.end() ? "" : it->second;
    if (a.type == AttributeType::clock) return;
    ImGui::AlignTextToFramePadding();
    quiet((a.name + (a.unit.empty() ? "" : ", " + a.unit)).c_str());
    std::vector<std::string> choices = a.choices;
    if (a.type == AttributeType::flag) choices = {"yes", "no"};
    if (!choices.empty()) {
        ImGui::SameLine(0, px(10));
        ImGui::Dummy({0, 0});
        for (const auto& c : choices)
            if (chip("set " + a.id + " " + c, c, value == c)) {
                set(w, e, a.id, value == c ? "" : c);
                return;  // the event is read again
            }
        return;
    }
    auto [draft, fresh] = drafts_.try_emplace(a.id, value);
    ImGui::SameLine(0, px(10));
    if (field("set " + a.id, draft->second, a.type == AttributeType::number ? "a number" : "words; they stay in the library", px(200))) {
        const std::string typed = draft->second;
        drafts_.clear();
        set(w, e, a.id, typed);
    } else warn_of(w, draft->second);
}

void SessionDesk::draw_chosen(Workplace& w, const Event& e) {
    const EventKind* kind = w.view.vocabulary.find(e.kind);
    if (!kind) return;
    if (drafts_of_ != e.id) drafts_.clear(), drafts_of_ = e.id;
    const std::string id = e.id;
    const Event copy = e;  // acts read the session again; what is drawn stays
    marks().draw(ImGui::GetWindowDrawList(), {ImGui::GetCursorScreenPos().x + px(14), ImGui::GetCursorScreenPos().y + px(14)}, px(24), kind->symbol);
    ImGui::SetCursorPosX(ImGui::GetCursorPosX() + px(34));
    title(kind->name.c_str());
    const auto end = w.view.end_of(copy);
    quiet((short_time(w.view.time_of(copy).ns) + (end ? " to " + short_time(end->ns) : kind->span ? ", not ended" : "") + "  " + std::string(name_of(copy.ear)) + " ear").c_str());
    if (copy.origin == Origin::suggestion) {
        said("Suggested by a gauge: it counts only when you accept it.", theme().accent);
        if (button("accept", "Accept", "=", Look::primary)) return accept_chosen(w);
        ImGui::SameLine();
        if (button("dismiss", "Dismiss", "Del")) return remove_chosen(w);
        return;
    }
    const ImVec2 here = ImGui::GetCursorScreenPos();
    draw_dial(w, copy, {here.x + ImGui::GetContentRegionAvail().x - px(118), here.y - px(26)});
    if (button("move here", "To this frame", "Ctrl+M")) {
        desk::EditWish wish;
        wish.at = w.player.at();
        w.did(desk::edit_event(w.desk, w.session, id, wish), "Moved");
        return;
    }
    if (button("other ear", copy.ear == Ear::right ? "Left ear" : "Right ear")) {
        desk::EditWish wish;
        wish.ear = other(copy.ear);
        w.did(desk::edit_event(w.desk, w.session, id, wish), "Side changed");
        return;
    }
    for (const auto& a : kind->attributes) draw_attribute(w, copy, a);
    if (!kind->attribute("depth")) draw_attribute(w, copy, kDepthChoice);
    ImGui::AlignTextToFramePadding();
    quiet("Note");
    ImGui::SameLine(0, px(10));
    auto [draft, fresh] = drafts_.try_emplace("note", copy.note);
    if (field("note", draft->second, "stays in the library", -1)) {
        const std::string typed = draft->second;
        drafts_.clear();
        set(w, copy, "note", typed);
    } else warn_of(w, draft->second);
    if (button("remove", "Take away", "Del", Look::danger)) remove_chosen(w);
    if (!kind->caution.empty()) quiet(kind->caution.c_str());
}

void SessionDesk::draw_event_row(Workplace& w, const SessionView::Placed& p) {
    const Event& e = *p.event;
    const Row r = row("event " + e.id, px(34), e.id == w.event);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const bool suggestion = e.origin == Origin::suggestion;
    const float y = r.from.y + (px(34) - ImGui::GetFontSize()) / 2;
    draw->AddText({r.from.x + px(10), y}, colour(theme().quiet), short_time(p.at.ns).c_str());
    draw->AddText({r.from.x + px(72), y}, colour(theme().text), e.ear == Ear::right ? "R" : "L");
    marks().draw(draw, {r.from.x + px(100), r.from.y + px(17)}, px(21), p.kind->symbol, suggestion ? 0.45f : 1.0f);
    const std::string words = (suggestion ? "Suggested: " : "") + described(e, *p.kind, FreeText::keep) + (e.note.empty() ? "" : " \u2013 " + e.note);
    text_within({r.from.x + px(118), y}, r.to.x - r.from.x - px(126), words, suggestion ? theme().quiet : theme().text);
    if (!r.pressed) return;
    w.event = shown_event_ = e.id;
    w.player.go(p.at);
}

// The gauges measure beside the window; what they suggest waits in the list until somebody accepts it.
void SessionDesk::measure(Workplace& w) {
    const std::string session = w.session;
    w.beside("Measuring the view", [&w, session](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto measured = desk::measure(own, session, progress);
        if (!measured) return measured.failure();
        auto suggested = desk::suggest(own, session);
        if (!suggested) return suggested.failure();
        auto troubles = measured->troubles;
        troubles.insert(troubles.end(), suggested->troubles.begin(), suggested->troubles.end());
        return Jobs::Then([&w, n = suggested->made.size(), troubles] {
            w.succeeded(n == 0 ? std::string("Measured; nothing new is suggested") : std::to_string(n) + (n == 1 ? " suggestion" : " suggestions") + ": = accepts, Del dismisses");
            if (!troubles.empty()) w.complaint = troubles.front();
        });
    });
}

void SessionDesk::draw_events(Workplace& w) {
    const bool busy = w.jobs.running("Measuring the view");
    if (button("measure", busy ? "Measuring \u2026" : "Suggest from the gauges", "", Look::plain, !busy)) measure(w);
    if (w.view.events.empty()) {
        gap(8);
        quiet("Nothing is tagged yet. Let the film run and press the key of what you see, such as 1 for a blockage; 'Place' lists all keys.");
        return;
    }
    const Event* chosen = w.view.event(w.event);
    const float room = ImGui::GetContentRegionAvail().y;
    ImGui::BeginChild("list", {0, chosen ? std::max(px(150), room - px(360)) : 0});
    const auto& placed = w.view.placed;
    const float step = px(34) + ImGui::GetStyle().ItemSpacing.y;
    // Chosen elsewhere, by the arrows or on the map: brought into sight.
    if (chosen && shown_event_ != w.event) {
        const auto it = std::find_if(placed.begin(), placed.end(), [&](const SessionView::Placed& p) { return p.event == chosen; });
        ImGui::SetScrollY(std::max(0.0f, static_cast<float>(it - placed.begin()) * step - ImGui::GetWindowHeight() * 0.4f));
        shown_event_ = w.event;
    }
    // Only the rows in sight are drawn: a long day has thousands.
    ImGuiListClipper clipper;
    clipper.Begin(static_cast<int>(placed.size()), step);
    while (clipper.Step())
        for (int i = clipper.DisplayStart; i < clipper.DisplayEnd; ++i) draw_event_row(w, placed[static_cast<std::size_t>(i)]);
    ImGui::EndChild();
    if (const Event* still = w.view.event(w.event)) draw_below(w, *still);
}

void SessionDesk::draw_record(Workplace& w) {
    if (button("copy record", "Copy for the notes", "Ctrl+C", Look::primary)) copy_record(w);
    ImGui::SameLine();
    if (w.view.session.confirmed_by.empty()) {
        if (button("confirm record", "Confirm it")) w.did(desk::confirm_record(w.desk, w.session), "Confirmed by " + w.desk.person);
    }
    gap(2);
    ImGui::BeginChild("record");
    probe().mark("record", 0, 0, 1, 1, w.record());
    indented(w.record());
    ImGui::EndChild();
}

// A recording whose file went away is found again by what is in it.
void SessionDesk::find_again(Workplace& w, const std::string& file) {
    const std::string session = w.session;
    w.beside("Finding the recording again", [&w, file, session](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto done = desk::find_again(own, session, file, progress);
        if (!done) return done.failure();
        return Jobs::Then([&w] { w.succeeded("The recording was found again"); });
    });
}

void SessionDesk::draw_missing(Workplace& w) {
    for (const auto& [id, words] : w.view.missing) said(words.c_str(), theme().danger);
    field("find path", find_, "where it lies now, or drop it on the window");
    if (button("find again", "Find it again", "", Look::primary, !find_.empty())) find_again(w, find_);
    gap(6);
}

void SessionDesk::draw(Workplace& w) {
    if (!w.view.missing.empty()) draw_missing(w);
    // The event that was just placed is what one wants to see.
    const std::string before = w.event;
    const std::pair<Page, const char*> pages[] = {{Page::place, "Place"}, {Page::events, "Events"}, {Page::record, "Record"}};
    ImGui::Dummy({0, 0});
    for (const auto& [page, words] : pages)
        if (chip(std::string("page ") + words, words, page_ == page)) page_ = page;
    gap(2);
    switch (page_) {
        case Page::place: draw_places(w); break;
        case Page::events: draw_events(w); break;
        case Page::record: draw_record(w); break;
    }
}

}  // namespace canalogue::editor
