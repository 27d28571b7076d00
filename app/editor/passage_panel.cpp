#include "app/editor/passage_panel.hpp"

#include <algorithm>
#include <cmath>

#include "app/desk/following.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/editor/words_warning.hpp"

namespace canalogue::editor {

namespace {

constexpr Nanos kShown = 4 * kSecond;  // how long a new pointer, dial or stretch of sound is there

// From now on for a while, inside the passage.
RecordingSpan from_now(const Passage& p, RecordingTime now) {
    const RecordingTime from = std::clamp(now, p.span.start, RecordingTime{p.span.end.ns - 1});
    return {from, std::min(from + kShown, p.span.end)};
}

const char* name_of(PointerShape shape) {
    switch (shape) {
        case PointerShape::arrow: return "Arrow";
        case PointerShape::ring: return "Ring";
        case PointerShape::outline: return "Outline";
        case PointerShape::words: return "Words";
    }
    return "";
}

}  // namespace

void PassagePanel::forget() {
    drafts_.clear(), beside_.forget(), box_.forget();
}

std::string PassagePanel::draw_view(Workplace& w, Passage& p, std::optional<RecordingTime> now) {
    ViewChange& v = p.view;
    ImGui::Dummy({0, 0});
    if (chip("steady", "Steady", v.steady)) return v.steady = !v.steady, "steady a passage";
    if (chip("mirrored", "Mirrored", v.mirrored)) return v.mirrored = !v.mirrored, "mirror a passage";
    for (const auto& [name, words, by] : {std::tuple{"turn back", "Turn -15\u00b0", -15.0}, {"turn on", "Turn +15\u00b0", 15.0}})
        if (chip(name, words, false)) {
            v.turn = std::remainder(v.turn + by, 360.0);
            return "turn a passage";
        }
    for (const auto& [name, words, by] : {std::tuple{"darker", "Darker", -0.25}, {"brighter", "Brighter", 0.25}})
        if (chip(name, words, false)) {
            v.brightness = std::clamp(v.brightness + by, -kMostBrightness, kMostBrightness);
            return "change the brightness";
        }
    if (chip("grey", "Grey is here", v.white && v.white->grey) && now) box_.ask("grey");
    if (chip("white", "Grey on the whole", v.white && v.white->over)) {
        if (v.white && v.white->over) v.white.reset();
        else v.white = WhiteReference{{0}, {}, p.span};
        return "balance the white";
    }
    if (v != ViewChange{} && chip("as filmed", "As filmed", false)) return v = {}, "show a passage as filmed";
    if (const auto box = box_.drawn(w, p.recording, "grey"); box && now) {
        v.white = WhiteReference{*now, *box, {}};
        return "balance the white";
    }
    quiet(v == ViewChange{} ? "As filmed. What is changed here is said on the film's pictures, on its last card and in its manifest." : ("The film says: " + words_of(v)).c_str());
    return "";
}

std::string PassagePanel::draw_pointer(Workplace& w, Passage& p, std::size_t i, std::optional<RecordingTime> now) {
    Pointer& pointer = p.pointers[i];
    const std::string n = std::to_string(i);
    ImGui::AlignTextToFramePadding();
    ImGui::Text("%s, %s to %s", name_of(pointer.shape), w.clock_of(p.recording, pointer.from).c_str(), w.clock_of(p.recording, pointer.until).c_str());
    const bool here = now && *now >= pointer.from && *now < pointer.until;
    if (button("follow " + n, "Follow", "", Look::plain, here && !w.jobs.running("Following"))) {
        w.beside("Following", [this, session = w.session, recording = p.recording, from = *now, pointer](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
            Pointer moved = pointer;
            auto done = desk::follow_pointer(own, session, recording, moved, from, progress);
            if (!done) return done.failure();
            return Jobs::Then([this, recording, from = pointer.from, moved] { followed_ = Followed{recording, from, moved}; });
        });
    }
    ImGui::SameLine();
    if (button("pointer longer " + n, "+1 s")) return pointer.until = std::min(pointer.until + kSecond, p.span.end), "show a pointer longer";
    ImGui::SameLine();
    if (button("no pointer " + n, "Away")) {
        p.pointers.erase(p.pointers.begin() + static_cast<std::ptrdiff_t>(i));
        drafts_.clear();
        return "take a pointer away";
    }
    return edited(w, drafts_, "pointer words " + n, pointer.text, "what it points at") ? "word a pointer" : "";
}

std::string PassagePanel::draw_pointers(Workplace& w, Passage& p, std::optional<RecordingTime> now) {
    if (followed_) {
        for (auto& pointer : p.pointers)
            if (followed_->recording == p.recording && pointer.from == followed_->from && pointer.text == followed_->pointer.text) {
                pointer.path = followed_->pointer.path;
                followed_.reset();
                return "follow with a pointer";
            }
        followed_.reset();
    }
    ImGui::Dummy({0, 0});
    for (const PointerShape shape : {PointerShape::arrow, PointerShape::ring, PointerShape::outline, PointerShape::words})
        if (chip(std::string("point ") + name_of(shape), name_of(shape), box_.awaits(name_of(shape))) && now && p.span.holds(*now)) box_.ask(name_of(shape));
    for (const PointerShape shape : {PointerShape::arrow, PointerShape::ring, PointerShape::outline, PointerShape::words})
        if (const auto box = box_.drawn(w, p.recording, name_of(shape)); box && now) {
            const auto span = from_now(p, *now);
            p.pointers.push_back({shape, span.start, span.end, {{span.start, box->x + box->w / 2, box->y + box->h / 2}}, std::max(0.02, box->w), std::max(0.02, box->h), shape == PointerShape::words ? "Words" : ""});
            return "point at something";
        }
    if (p.pointers.empty()) quiet("Go to a frame that shows it, choose a shape, and draw a box around what is meant. 'Follow' lets the pointer go with it.");
    for (std::size_t i = 0; i < p.pointers.size(); ++i)
        if (const std::string act = draw_pointer(w, p, i, now); !act.empty()) return act;
    return "";
}

std::string PassagePanel::draw_labels(Workplace& w, Passage& p, std::optional<RecordingTime> now) {
    if (button("label here", "Label here", "", Look::plain, now && p.span.holds(*now))) {
        const auto span = from_now(p, *now);
        p.labels.push_back({span.start, span.end, "What is seen"});
        std::stable_sort(p.labels.begin(), p.labels.end(), [](const Label& a, const Label& b) { return a.from < b.from; });
        drafts_.clear();
        return "add a label";
    }
    for (std::size_t i = 0; i < p.labels.size(); ++i) {
        Label& label = p.labels[i];
        const std::string n = std::to_string(i);
        ImGui::AlignTextToFramePadding();
        ImGui::Text("%s to %s", w.clock_of(p.recording, label.from).c_str(), w.clock_of(p.recording, label.until).c_str());
        ImGui::SameLine();
        if (button("label longer " + n, "+1 s")) return label.until = std::min(label.until + kSecond, p.span.end), "show a label longer";
        ImGui::SameLine();
        if (button("no label " + n, "Away")) return p.labels.erase(p.labels.begin() + static_cast<std::ptrdiff_t>(i)), drafts_.clear(), "take a label away";
        std::string text = label.text;
        if (!edited(w, drafts_, "label words " + n, text, "empty takes it away")) continue;
        if (text.empty()) p.labels.erase(p.labels.begin() + static_cast<std::ptrdiff_t>(i)), drafts_.clear();
        else label.text = text;
        return "word a label";
    }
    quiet("A label stands at the picture's lower left; one is shown at a time.");
    return "";
}

std::string PassagePanel::draw_places(Passage& p, std::optional<RecordingTime> now) {
    const auto at = std::find_if(p.places.begin(), p.places.end(), [&](const Place& each) { return now && each.from <= *now && *now <= each.until; });
    ImGui::Dummy({0, 0});
    for (int hour = 1; hour <= 12; ++hour)
        if (chip("clock " + std::to_string(hour), std::to_string(hour), at != p.places.end() && at->clock == hour) && now) {
            if (at != p.places.end()) at->clock = hour;
            else {
                const auto span = from_now(p, *now);
                p.places.push_back({span.start, span.end, hour, ""});
            }
            return "say where in the canal";
        }
    if (at == p.places.end()) return quiet("Choose the hour on the clock face: it is shown for four seconds from this frame, with the ear's name."), "";
    for (const char* depth : {"outer", "middle", "deep"})
        if (chip(std::string("depth ") + depth, depth, at->depth == depth)) return at->depth = at->depth == depth ? "" : depth, "say how deep";
    if (chip("place longer", "+1 s", false)) return at->until = std::min(at->until + kSecond, p.span.end), "show the clock face longer";
    if (chip("no place", "Away", false)) return p.places.erase(at), "take the clock face away";
    return "";
}

std::string PassagePanel::draw_sound(const Workplace& w, Passage& p, std::optional<RecordingTime> now) {
    if (button("heard", "Let the sound through here", "", Look::plain, now && p.span.holds(*now))) {
        p.heard.push_back(from_now(p, *now));
        p.heard = united(std::move(p.heard));
        return "let the original sound through";
    }
    if (std::abs(p.pace - 1) > 0.001) said("Heard only at pace 1; this passage has another.", theme().accent);
    for (std::size_t i = 0; i < p.heard.size(); ++i) {
        ImGui::AlignTextToFramePadding();
        ImGui::Text("Heard from %s to %s", w.clock_of(p.recording, p.heard[i].start).c_str(), w.clock_of(p.recording, p.heard[i].end).c_str());
        ImGui::SameLine();
        if (button("heard longer " + std::to_string(i), "+1 s")) return p.heard[i].end = std::min(p.heard[i].end + kSecond, p.span.end), "let more of the sound through";
        ImGui::SameLine();
        if (button("not heard " + std::to_string(i), "Away")) return p.heard.erase(p.heard.begin() + static_cast<std::ptrdiff_t>(i)), "hush the original sound";
    }
    quiet("What is covered stays hushed; under narration the sound is lowered.");
    return "";
}

std::string PassagePanel::draw(Workplace& w, Passage& p, std::optional<RecordingTime> now) {
    strong("More");
    ImGui::Dummy({0, 0});
    const std::tuple<Part, const char*, const char*> parts[] = {{Part::view, "part view", "Light and view"}, {Part::label, "part label", "Labels"}, {Part::point, "part point", "Point"}, {Part::place, "part place", "Where in the canal"}, {Part::beside, "part beside", "Beside"}, {Part::sound, "part sound", "Sound"}};
    for (const auto& [part, name, words] : parts)
        if (chip(name, words, part_ == part)) part_ = part_ == part ? Part::none : part, forget();
    switch (part_) {
        case Part::view: return draw_view(w, p, now);
        case Part::label: return draw_labels(w, p, now);
        case Part::point: return draw_pointers(w, p, now);
        case Part::place: return draw_places(p, now);
        case Part::beside: return beside_.draw(w, p, now);
        case Part::sound: return draw_sound(w, p, now);
        case Part::none: break;
    }
    return "";
}

}  // namespace canalogue::editor
