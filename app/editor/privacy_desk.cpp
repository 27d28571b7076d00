#include "app/editor/privacy_desk.hpp"

#include <algorithm>
#include <cmath>

#include "app/desk/adjusting.hpp"
#include "app/desk/covering.hpp"
#include "app/desk/following.hpp"
#include "app/desk/hearing.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/scanning.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "export/cover_fill.hpp"

namespace canalogue::editor {

namespace {

constexpr int kWiden = 16;  // pixels: a coding block

std::string short_time(Nanos t) { return format_time(t / (kSecond / 10) * (kSecond / 10)); }

// "container: title" for people.
std::string field_words(const std::string& field) {
    if (field == "file: name") return "The file's name";
    if (field == "folder: name") return "A folder's name";
    const auto colon = field.find(": ");
    return colon == std::string::npos ? "In the file: " + field : "In the file: " + field.substr(colon + 2) + " (" + field.substr(0, colon) + ")";
}

std::string kind_words(const desk::SuspectLine& line) {
    if (!line.unscanned_by.empty()) return "Not scanned by " + line.unscanned_by;
    switch (line.suspect.kind) {
        case SuspectKind::text: return "Text in the picture";
        case SuspectKind::face: return "Face";
        case SuspectKind::outside: return "Whole picture";
        case SuspectKind::speech: return "Speech";
        case SuspectKind::metadata: return field_words(line.suspect.field);
        case SuspectKind::words: return "Words said aloud";
    }
    return "";
}

// Where a suspect's box first stands in its picture: rows that say the same cannot be told apart.
std::string place_words(const Suspect& s, const Recording* r) {
    if (s.track.empty() || !r) return "";
    const Size whole = upright_size(r->stored, r->rotation);
    const UprightBox& b = s.track.front().box;
    const double x = (b.x + b.w / 2.0) / std::max(1, whole.w), y = (b.y + b.h / 2.0) / std::max(1, whole.h);
    const std::string high = y < 1 / 3.0 ? "top" : y > 2 / 3.0 ? "bottom" : "", wide = x < 1 / 3.0 ? "left" : x > 2 / 3.0 ? "right" : "";
    return high.empty() && wide.empty() ? "middle" : high + (high.empty() || wide.empty() ? "" : " ") + wide;
}

// What tells a row of the queue from its neighbours: what was read, else where it stands; and for how long.
std::string row_words(const desk::SuspectLine& line, const Recording* r) {
    const Suspect& s = line.suspect;
    const auto colon = s.field.find(": ");
    const std::string field = s.kind != SuspectKind::metadata || colon == std::string::npos ? "" : (s.field.ends_with(": name") ? s.field.substr(0, colon) : s.field.substr(colon + 2)) + ": ";
    if (!line.words.empty()) return field + "\u201c" + desk::in_short(line.words) + "\u201d";
    std::string out = s.kind == SuspectKind::text && line.unscanned_by.empty() ? "Text" : kind_words(line);
    if (const auto place = place_words(s, r); !place.empty()) out += ", " + place;
    if (s.kind != SuspectKind::metadata) out += ", for " + short_time(s.span.length());
    return out;
}

}  // namespace

void PrivacyDesk::choose(Workplace& w, const std::string& id) {
    w.suspect = id;
    const auto* line = w.view.suspect(id);
    const Recording* r = line ? w.view.recording(line->suspect.recording) : nullptr;
    if (!r || line->suspect.kind == SuspectKind::metadata) return;
    // Its middle shows more of it than its first frame; where the whole picture is covered nothing of it
    // is seen.
    const RecordingSpan s = line->suspect.span;
    const auto covers = w.view.covers.find(r->id);
    RecordingTime best = s.start + s.length() / 2;
    for (int share : {8, 4, 12, 2, 14, 0}) {
        const RecordingTime t = s.start + s.length() * share / 16;
        if (covers != w.view.covers.end() && covers->second.whole_during({t, t + kSecond / 25})) continue;
        best = t;
        break;
    }
    w.player.go(r->session_time(best));
}

void PrivacyDesk::next_open(Workplace& w, int direction) {
    const auto& all = w.view.suspects;
    if (all.empty()) return;
    const auto it = std::find_if(all.begin(), all.end(), [&](const desk::SuspectLine& l) { return l.suspect.id == w.suspect; });
    const int n = static_cast<int>(all.size());
    int i = it == all.end() ? (direction > 0 ? -1 : n) : static_cast<int>(it - all.begin());
    for (int step = 0; step < n; ++step) {
        i = (i + direction + n) % n;
        const auto& line = all[static_cast<std::size_t>(i)];
        if (!only_open_ || desk::asks_for_a_decision(line)) return choose(w, line.suspect.id);
    }
}

void PrivacyDesk::decide(Workplace& w, Verdict verdict) {
    if (w.suspect.empty()) return;
    const std::string id = w.suspect;
    if (verdict == Verdict::harmless && reason_.empty()) {
        w.complaint = "Write below why it is harmless, then press Harmless: only a recorded reason uncovers.";
        return ui().focus.go("reason");
    }
    const auto done = desk::decide(w.desk, {w.session, {id}, verdict, verdict == Verdict::harmless ? reason_ : "seen by the reviewer", w.passphrase});
    if (!done) {
        w.failed(done.failure());
        if (verdict == Verdict::harmless) ui().focus.go("reason");
        return;
    }
    next_open(w, 1);
    w.succeeded(verdict == Verdict::cover ? id + " stays covered" : id + " is uncovered; Ctrl+Z covers it again");
}

void PrivacyDesk::add_box(Workplace& w, UprightBox box) {
    const auto now = w.player.showing();
    if (!now) return;
    const Recording& r = *now->recording;
    const std::string session = w.session;
    const SessionSpan span{r.session_time(std::max(now->time, r.only.start)), r.session_span().end};
    desk::CoverWish wish{session, desk::CoverWish::What::box, box, span, "drawn by the reviewer"};
    const auto made = desk::cover(w.desk, wish);
    if (!w.did(made, "Covered from here to the end of the recording; F follows it through the shot") || made->empty()) return;
    w.suspect = made->front().id;
}

void PrivacyDesk::add_span(Workplace& w, SessionSpan span, bool sound) {
    desk::CoverWish wish{w.session, sound ? desk::CoverWish::What::sound : desk::CoverWish::What::whole, {}, span, sound ? "hushed by the reviewer" : "covered by the reviewer"};
    const auto made = desk::cover(w.desk, wish);
    if (w.did(made, sound ? "The sound is hushed there" : "The whole picture is covered there") && !made->empty()) w.suspect = made->front().id;
}

void PrivacyDesk::key(Workplace& w, const std::string& key) {
    const auto* line = w.view.suspect(w.suspect);
    const auto now = w.player.showing();
    if (key == "c") return decide(w, Verdict::cover);
    if (key == "h") return decide(w, Verdict::harmless);
    if (key == "n") return next_open(w, 1);
    if (key == "p") return next_open(w, -1);
    if (key == "b") return pane_.ask_for_box([this, &w](UprightBox box) { add_box(w, box); });
    if (key == "g") return go_to_unwatched(w);
    if (key == "a") return map_.ask_for_span([this, &w](SessionSpan s) { add_span(w, s, false); });
    if (key == "m") return map_.ask_for_span([this, &w](SessionSpan s) { add_span(w, s, true); });
    if (!line || !line->unscanned_by.empty() || line->suspect.kind == SuspectKind::metadata) return;
    if (key == "w") {
        w.did(desk::widen(w.desk, w.session, w.suspect, kWiden), "Wider by " + std::to_string(kWiden) + " pixels on each side");
    } else if (key == "x" && now && now->recording->id == line->suspect.recording) {
        w.did(desk::split(w.desk, w.session, w.suspect, now->time), "Split here");
    } else if (key == "e" && now && now->recording->id == line->suspect.recording) {
        w.did(desk::set_span(w.desk, w.session, w.suspect, {line->suspect.span.start, now->until}), "Ends with this frame");
    } else if ((key == "f" || key == "r") && now && now->recording->id == line->suspect.recording && !w.jobs.running("Following the box")) {
        const std::string session = w.session, id = w.suspect;
        const bool back = key == "r";
        const RecordingTime from = std::max(now->time, line->suspect.span.start);
        w.beside("Following the box", [&w, session, id, from, back](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
            auto done = back ? desk::follow_suspect_back(own, session, id, from, progress) : desk::follow_suspect(own, session, id, from, progress);
            if (!done) return done.failure();
            return Jobs::Then([&w, words = *done] { w.succeeded(words); });
        });
    } else if (key == "k" && now && now->recording->id == line->suspect.recording) {
        pane_.ask_for_box([this, &w](UprightBox box) { put_right(w, box); });
    }
}

// The box of a cover made by hand, where it is at this frame.
void PrivacyDesk::put_right(Workplace& w, UprightBox box) {
    const auto now = w.player.showing();
    if (!now || w.jobs.running("Following the box")) return;
    const std::string session = w.session, id = w.suspect;
    const RecordingTime at = now->time;
    w.beside("Following the box", [&w, session, id, at, box](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto done = desk::place_box(own, session, id, at, box, progress);
        if (!done) return done.failure();
        return Jobs::Then([&w, words = *done] { w.succeeded(words); });
    });
}

// ---- Drawing --------------------------------------------------------------------------------------

void PrivacyDesk::draw_crops(Workplace& w, const Suspect& s) {
    const auto now = w.player.showing();
    if (!now || now->recording->id != s.recording) return;
    auto box = box_at(s, now->time);
    if (!box && s.track.empty() && s.hides_picture() && s.span.holds(now->time)) {
        // As with the covers over the whole picture: what is under them is for who has the passphrase.
        if (w.passphrase.empty()) return quiet("It may be anywhere in the picture. Unlock the library to see it as filmed before you judge it.");
        const Size all = upright_size(now->recording->stored, now->recording->rotation);
        box = UprightBox{0, 0, all.w, all.h};
    }
    if (!box) return;
    const bool fresh = crops_of_ != s.id || crops_frame_ != now->frame;
    if (fresh) {
        const auto picture = w.player.picture();
        if (picture && !w.player.playing()) {
            const Recording& r = *now->recording;
            const Size whole = upright_size(r.stored, r.rotation);
            const int margin = std::max(box->w, box->h) / 2;
            const UprightBox around = common(UprightBox{box->x - margin, box->y - margin, box->w + 2 * margin, box->h + 2 * margin}, UprightBox{0, 0, whole.w, whole.h});
            const auto cut = [&](const media::Picture& from) {
                media::RgbConverter converter;
                auto rgb = converter.convert(from, r.rotation);
                media::RgbPicture out;
                if (!rgb) return out;
                out.size = {around.w, around.h};
                for (int y = 0; y < around.h; ++y) {
                    const auto* row = rgb->pixels.data() + (static_cast<std::size_t>(around.y + y) * rgb->size.w + around.x) * 3;
                    out.pixels.insert(out.pixels.end(), row, row + static_cast<std::size_t>(around.w) * 3);
                }
                return out;
            };
            before_.show(cut(*picture));
            media::Picture hidden = *picture;
            const Covers covers = covers_for(r, {s}, {});
            if (hidden.own() && film::lay_covers(hidden, covers.boxes_during({now->time, now->until}, r.stored))) after_.show(cut(hidden));
            crops_of_ = s.id, crops_frame_ = now->frame;
        }
    }
    if (before_.empty() || crops_of_ != s.id) return;
    const float width = (ImGui::GetContentRegionAvail().x - px(8)) / 2;
    const auto image = [&](const RgbTexture& t, const char* words) {
        ImGui::BeginGroup();
        const float scale = std::min(width / static_cast<float>(t.size().w), px(110) / static_cast<float>(t.size().h));
        ImGui::Image(reinterpret_cast<ImTextureID>(static_cast<std::intptr_t>(t.texture())), {static_cast<float>(t.size().w) * scale, static_cast<float>(t.size().h) * scale});
        quiet(words);
        ImGui::EndGroup();
    };
    image(before_, "As filmed");
    ImGui::SameLine(0, px(8));
    if (!after_.empty()) image(after_, "Covered");
}

void PrivacyDesk::draw_chosen(Workplace& w, const desk::SuspectLine& line) {
    const Suspect s = line.suspect;
    const Recording* r = w.view.recording(s.recording);
    strong((s.id + "  " + kind_words(line)).c_str());
    std::string facts = s.recording + "  " + short_time(s.span.start.ns) + " to " + short_time(s.span.end.ns) + "   sure " + std::to_string(static_cast<int>(std::lround(s.sureness * 100))) + " %   " + s.spotter;
    if (s.decision.verdict != Verdict::open) facts += "\n" + std::string(s.decision.verdict == Verdict::cover ? "covered" : "harmless") + (s.decision.by.empty() ? "" : " by " + s.decision.by) + (s.decision.reason.empty() ? "" : ": " + s.decision.reason);
    if (s.kind == SuspectKind::metadata) facts += "\nNothing that a file says about itself leaves with a film, whatever is decided here.";
    if (line.hidden) facts += "\nWholly under a cover that was decided: nothing of it shows, and it need not be decided.";
    if (!line.words.empty()) facts += "\nRead there: \u201c" + desk::in_short(line.words, line.words.size()) + "\u201d";
    quiet(facts.c_str());
    if (r) draw_crops(w, s);
    if (button("cover", "Cover", "C", Look::primary)) return decide(w, Verdict::cover);
    ImGui::SameLine();
    if (button("harmless", "Harmless", "H")) return decide(w, Verdict::harmless);
    field("reason", reason_, "why it is harmless: is recorded, and uncovers");
    if (!line.unscanned_by.empty()) {
        quiet("Nothing and nobody has looked at this span. Call it harmless only when you have watched it.");
        return;
    }
    if (button("widen", "Widen", "W", Look::plain, !s.track.empty())) return key(w, "w");
    ImGui::SameLine();
    const bool timed = s.kind != SuspectKind::metadata;
    if (button("split", "Split here", "X", Look::plain, timed)) return key(w, "x");
    ImGui::SameLine();
    if (button("follow", "Follow", "F", Look::plain, !s.track.empty())) return key(w, "f");
    if (button("follow back", "Follow back", "R", Look::plain, !s.track.empty())) return key(w, "r");
    ImGui::SameLine();
    if (button("end here", "Ends here", "E", Look::plain, timed)) return key(w, "e");
    ImGui::SameLine();
    if (button("put right", "Put right", "K", Look::plain, s.spotter == "by hand" && !s.track.empty())) return key(w, "k");
}

void PrivacyDesk::draw_row(Workplace& w, const desk::SuspectLine& line) {
    const Suspect& s = line.suspect;
    const Row r = row("suspect " + s.id, px(34), s.id == w.suspect);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const float y = r.from.y + (px(34) - ImGui::GetFontSize()) / 2;
    const Recording* of = w.view.recording(s.recording);
    const bool open = desk::asks_for_a_decision(line);
    draw->AddText({r.from.x + px(10), y}, colour(theme().quiet), s.kind == SuspectKind::metadata ? "file" : short_time(of ? of->session_time(s.span.start).ns : s.span.start.ns).c_str());
    text_within({r.from.x + px(72), y}, r.to.x - r.from.x - px(90) - ImGui::CalcTextSize(desk::state_of(line)).x, row_words(line, of), theme().text);
    const char* state = desk::state_of(line);
    draw->AddText({r.to.x - px(8) - ImGui::CalcTextSize(state).x, y}, colour(open ? theme().accent : theme().quiet), state);
    if (r.pressed) choose(w, s.id);
}

void PrivacyDesk::draw_queue(Workplace& w) {
    ImGui::Dummy({0, 0});
    if (chip("only open", "Open", only_open_ && !films_)) only_open_ = true, films_ = false;
    if (chip("all suspects", "All", !only_open_ && !films_)) only_open_ = films_ = false;
    if (chip("films", "Sign-off", films_)) films_ = true;
    if (films_) {
        ImGui::BeginChild("films");
        sign_off_.draw(w);
        ImGui::EndChild();
        return;
    }
    const bool chosen = w.view.suspect(w.suspect) != nullptr;
    const float room = ImGui::GetContentRegionAvail().y;
    ImGui::BeginChild("queue", {0, chosen ? std::max(px(120), room - px(350)) : 0});
    std::vector<const desk::SuspectLine*> shown;
    for (const auto& line : w.view.suspects)
        if (!only_open_ || desk::asks_for_a_decision(line)) shown.push_back(&line);
    ImGuiListClipper clipper;
    clipper.Begin(static_cast<int>(shown.size()), px(34) + ImGui::GetStyle().ItemSpacing.y);
    while (clipper.Step())
        for (int i = clipper.DisplayStart; i < clipper.DisplayEnd; ++i) draw_row(w, *shown[static_cast<std::size_t>(i)]);
    if (shown.empty()) quiet(w.view.suspects.empty() ? "Nothing is suspected yet. 'Scan' looks for text, the scope outside the ear, faces, speech and file fields; cover by hand what only a person sees." : "None is open: everything is decided. 'All' shows the decided ones.");
    ImGui::EndChild();
    if (const auto* line = w.view.suspect(w.suspect)) {
        ImGui::BeginChild("chosen suspect");
        draw_chosen(w, *line);
        ImGui::EndChild();
    }
}

void PrivacyDesk::draw_tools(Workplace& w) {
    probe().mark("queue tools", ImGui::GetCursorScreenPos().x, ImGui::GetCursorScreenPos().y, 1, 1);
    const bool scanning = w.jobs.running("Scanning");
    if (button("scan", scanning ? "Scanning \u2026" : "Scan", "", Look::plain, !scanning)) {
        const std::string session = w.session;
        w.beside("Scanning", [&w, session, secret = w.passphrase](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
            auto done = desk::scan(own, session, progress);
            if (!done) return done.failure();
            const auto heard = secret.empty() ? Result<desk::HearReport>(desk::HearReport{}) : desk::hear_names(own, session, secret, progress);
            if (!heard) return heard.failure();
            return Jobs::Then([&w, report = *done] {
                w.succeeded(std::to_string(report.found) + " new suspects");
                if (!report.troubles.empty()) w.complaint = report.troubles.front() + " What was not scanned stays covered.";
            });
        });
    }
    ImGui::SameLine();
    if (button("draw box", pane_.asking() ? "Draw it \u2026" : "Box", "B", pane_.asking() ? Look::chosen : Look::plain)) key(w, "b");
    ImGui::SameLine();
    if (button("cover span", "Whole picture", "A", map_.asking() ? Look::chosen : Look::plain)) key(w, "a");
    ImGui::SameLine();
    if (button("hush span", "Hush", "M")) key(w, "m");
    if (pane_.asking()) said("Drag a box on the picture; Esc leaves it.", theme().accent);
    if (map_.asking()) said("Drag over the time map; Esc leaves it.", theme().accent);
}

void PrivacyDesk::draw_vault(Workplace& w) {
    auto sealed = desk::count_known(w.desk, w.session);
    const int n = sealed ? *sealed : 0;
    quiet(n == 0 ? "No name or number is sealed: the check of a film cannot look for the patient's." : (std::to_string(n) + " known identifiers are sealed.").c_str());
    if (w.passphrase.empty()) {
        field("passphrase", typed_passphrase_, "passphrase of this library", px(220), true);
        ImGui::SameLine();
        if ((button("unlock", "Unlock", "", Look::plain, !typed_passphrase_.empty()) || entered("passphrase")) && !typed_passphrase_.empty()) {
            auto opened = desk::open_known(w.desk, w.session, typed_passphrase_);
            if (opened) w.passphrase = typed_passphrase_;
            typed_passphrase_.clear();
            w.did(opened, "Unlocked until the window closes");
        }
        return;
    }
    field("known name", name_, "a name or number to seal", px(220));
    ImGui::SameLine();
    if (button("seal", "Seal", "", Look::plain, !name_.empty())) {
        const auto done = desk::add_known(w.desk, w.session, {name_}, w.passphrase);
        name_.clear();
        w.did(done, "Sealed");
    }
}

void PrivacyDesk::draw(Workplace& w) {
    if (watching_ != w.session) shown_.clear(), read_seen(w);
    draw_tools(w);
    draw_vault(w);
    draw_duty(w);
    view_marks_.draw(w, map_);
    draw_queue(w);
}

}  // namespace canalogue::editor
