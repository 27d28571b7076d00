#include "app/editor/beside_panel.hpp"

#include <algorithm>

#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/editor/words_warning.hpp"

namespace canalogue::editor {

namespace {

constexpr const char* kReading = "Reading the other visits";
constexpr float kLine = 28, kLines = 5;  // at scale 1; how many are in sight at once

std::string short_time(Nanos t) { return format_time(t / (kSecond / 10) * (kSecond / 10)); }

std::string words_of(const desk::Visit::Moment& m) { return short_time(m.at.ns) + "  " + m.words + ", " + std::string(name_of(m.ear)); }

// A line of a list; its words after it.
bool line(const std::string& name, const std::string& words, bool chosen) {
    const Row r = row(name, px(kLine), chosen);
    if (ImGui::IsItemVisible()) text_within({r.from.x + px(12), r.from.y + px(5)}, r.to.x - r.from.x - px(20), words, theme().text);
    return r.pressed;
}

// Room for a list of so many lines; a longer one scrolls.
void begin_lines(const char* name, std::size_t count) {
    const float each = px(kLine) + ImGui::GetStyle().ItemSpacing.y;
    ImGui::BeginChild(name, {0, each * std::min(kLines, static_cast<float>(count))});
}

}  // namespace

// Whether each visit is whole takes a moment to find out: beside the window.
void BesidePanel::read(Workplace& w) {
    const bool unlocked = !w.passphrase.empty();
    if (of_ != w.session) visits_.clear(), chosen_.clear(), moment_.reset();
    if (w.jobs.running(kReading) || (of_ == w.session && revision_ == w.revision() && unlocked_ == unlocked)) return;
    of_ = w.session, revision_ = w.revision(), unlocked_ = unlocked;
    w.beside(kReading, [this, session = w.session, unlocked](desk::Desk& own, const Progress&) -> Result<Jobs::Then> {
        auto found = desk::visits(own, session, unlocked);
        if (!found) return found.failure();
        return Jobs::Then([this, session, found = std::move(*found)] {
            if (of_ == session) visits_ = found;
        });
    });  // asked for by a hand: it does not wait behind thumbnails and copies
}

const desk::Visit* BesidePanel::visit() const {
    const auto it = std::find_if(visits_.begin(), visits_.end(), [&](const desk::Visit& v) { return v.session == (chosen_.empty() ? of_ : chosen_); });
    return it == visits_.end() ? nullptr : &*it;
}

std::string BesidePanel::title_of(const std::string& session) const {
    for (const auto& v : visits_)
        if (v.session == session && !v.title.empty()) return session + ": " + v.title;
    return session;
}

std::string BesidePanel::draw_set(Workplace& w, Passage& p) {
    Beside& b = *p.beside;
    const std::string whose = b.session.empty() ? "this visit" : title_of(b.session);
    const std::string words = "Beside it: " + whose + ", " + b.recording + " at " + short_time(b.meets.ns) + ", when this passage is at " + short_time(b.with.ns) + ". Preview (V) shows both.";
    quiet(words.c_str());
    probe().mark("beside", 0, 0, 1, 1, words);
    ImGui::Dummy({0, 0});
    if (chip("beside fill", "Larger, sides cut off", b.fill)) return b.fill = !b.fill, "how two pictures stand";
    if (edited(w, drafts_, "beside words", b.words, "under this picture, such as Before")) return "word a comparison";
    if (edited(w, drafts_, "beside other words", b.other_words, "under the other, such as After")) return "word a comparison";
    if (button("no beside", "Show it alone")) return p.beside.reset(), drafts_.clear(), "show a passage alone";
    return "";
}

void BesidePanel::draw_visits() {
    strong("Which visit");
    begin_lines("visits", visits_.size());
    for (const auto& v : visits_) {
        const bool own = v.session == of_, chosen = own ? chosen_.empty() : chosen_ == v.session;
        if (!v.against.empty()) continue;
        if (!line("visit " + v.session, own ? "This visit" : title_of(v.session), chosen) || chosen) continue;
        chosen_ = own ? "" : v.session;
        moment_.reset();
    }
    ImGui::EndChild();
    for (const auto& v : visits_)
        if (!v.against.empty()) {
            quiet((v.session + " cannot be shown now. " + v.against).c_str());
            probe().mark("visit against " + v.session, 0, 0, 1, 1, v.against);
        }
    if (visits_.size() > 1) return;
    quiet("There is no other visit in this library. Import one (Library, F5), and it can stand here.");
    probe().mark("no other visit", 0, 0, 1, 1);
}

// The events of the visit; of this one also whatever is shown.
void BesidePanel::draw_moments(Workplace& w, const desk::Visit& visit) {
    strong("Its moment");
    if (visit.moments.empty()) quiet(chosen_.empty() ? "Nothing is tagged. Go to the moment and remember it." : "Nothing is tagged in that visit: tag there what is to be compared (Session desk).");
    if (!visit.moments.empty()) {
        begin_lines("moments", visit.moments.size());
        for (std::size_t i = 0; i < visit.moments.size(); ++i) {
            const auto& m = visit.moments[i];
            const std::string of = visit.recordings.size() > 1 ? m.recording + "  " : "";
            if (line("moment " + std::to_string(i), of + words_of(m), false)) moment_ = m;
        }
        ImGui::EndChild();
    }
    const auto showing = chosen_.empty() ? w.player.showing() : std::nullopt;
    if (!showing || !button("remember moment", "Remember this frame")) return;
    const Recording& r = *showing->recording;
    const RecordingTime at = r.recording_time(w.player.at());
    if (const auto ear = r.ear_at(at)) moment_ = desk::Visit::Moment{r.id, at, *ear, "this frame"};
    else w.failed(wrong_use("Nothing says which ear is shown here: set the side first (Ctrl+E)."));
}

// At an event of the passage, or at the frame that is shown.
std::string BesidePanel::draw_meeting(Workplace& w, Passage& p, std::optional<RecordingTime> now) {
    quiet((title_of(chosen_.empty() ? "This visit" : chosen_) + ", " + moment_->recording + ", " + words_of(*moment_)).c_str());
    if (button("another moment", "Another moment")) return moment_.reset(), "";
    strong("It is shown when this passage is at");
    std::optional<RecordingTime> with;
    std::vector<const Event*> events;
    for (const auto& e : w.view.events)
        if (e.origin == Origin::person && e.recording == p.recording && p.span.holds(e.at)) events.push_back(&e);
    if (button("meet here", "This frame", "", Look::plain, now && p.span.holds(*now))) with = now;
    if (!events.empty()) begin_lines("meeting events", events.size());
    for (const Event* e : events) {
        const EventKind* kind = w.view.vocabulary.find(e->kind);
        if (kind && line("meets " + e->id, short_time(e->at.ns) + "  " + kind->name, false)) with = e->at;
    }
    if (!events.empty()) ImGui::EndChild();
    if (!with) return "";
    p.beside = Beside{chosen_, moment_->recording, moment_->ear, moment_->at, *with, "Before", "After"};
    moment_.reset();
    return "show another picture beside";
}

std::string BesidePanel::draw(Workplace& w, Passage& p, std::optional<RecordingTime> now) {
    read(w);
    if (p.beside) return draw_set(w, p);
    if (visits_.empty()) return quiet("Reading the visits \u2026"), "";
    const desk::Visit* v = visit();
    // It may have gone, or lost its file, since it was chosen.
    if (!v || !v->against.empty()) return chosen_.clear(), moment_.reset(), "";
    // One step after the other: there is not much room.
    if (moment_) return draw_meeting(w, p, now);
    draw_visits();
    v = visit();
    draw_moments(w, *v);
    return "";
}

}  // namespace canalogue::editor
