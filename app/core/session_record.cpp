#include "app/core/session_record.hpp"

#include <algorithm>
#include <array>
#include <map>

#include "app/core/event_rules.hpp"

namespace canalogue {

namespace {

struct Line {
    Heading heading;
    const char* words;
};
constexpr std::array<Line, 9> kLines{{{Heading::before, "Before"},
                                      {Heading::found, "Found"},
                                      {Heading::done, "Done"},
                                      {Heading::removed, "Removed"},
                                      {Heading::left_alone, "Left in place"},
                                      {Heading::drum, "Drum"},
                                      {Heading::comfort, "Comfort"},
                                      {Heading::outcome, "Outcome"},
                                      {Heading::other, "Other"}}};

SessionTime time_of(const Event& e, const std::vector<Recording>& recordings) {
    for (const auto& r : recordings)
        if (r.id == e.recording) return r.session_time(e.at);
    return {e.at.ns};
}

// "Piece removed: hard wax, 3 mm (0:12); 4 in all" - events that read the same are counted.
std::string listed(const std::vector<const Event*>& events, const std::vector<Recording>& recordings,
                   const Vocabulary& vocabulary) {
    struct Group {
        std::string words;
        std::vector<std::string> times;
        std::string notes;
    };
    std::vector<Group> groups;
    for (const Event* e : events) {
        const EventKind* kind = vocabulary.find(e->kind);
        const std::string words = kind ? described(*e, *kind, FreeText::keep) : e->kind;
        std::string when = format_clock(time_of(*e, recordings).ns);
        if (e->until) when += " to " + format_clock(time_of(*e, recordings).ns + (*e->until - e->at));
        auto it = std::find_if(groups.begin(), groups.end(), [&](const Group& g) { return g.words == words; });
        if (it == groups.end()) it = groups.insert(groups.end(), Group{words, {}, ""});
        it->times.push_back(when);
        if (!e->note.empty()) it->notes += (it->notes.empty() ? "" : "; ") + e->note;
    }
    std::string out;
    for (const auto& g : groups) {
        out += "    - " + g.words;
        if (g.times.size() > 1) out += ", " + std::to_string(g.times.size()) + " times";
        out += " (";
        for (std::size_t i = 0; i < g.times.size(); ++i) out += (i ? ", " : "") + g.times[i];
        out += ")";
        if (!g.notes.empty()) out += ". Note: " + g.notes;
        out += "\n";
    }
    return out;
}

Nanos seen_length(Ear ear, const std::vector<Recording>& recordings) {
    Nanos total = 0;
    for (const auto& r : recordings)
        for (const auto& e : r.ears)
            if (e.ear == ear) total += RecordingSpan{std::max(e.span.start, r.only.start), std::min(e.span.end, r.only.end)}.length();
    return total;
}

std::string ear_part(Ear ear, const RecordInput& in, const std::vector<Event>& events, const Vocabulary& vocabulary) {
    std::map<Heading, std::vector<const Event*>> by_heading;
    int removed = 0;
    for (const auto& e : events) {
        if (e.ear != ear) continue;
        const EventKind* kind = vocabulary.find(e.kind);
        by_heading[kind ? kind->heading : Heading::other].push_back(&e);
        removed += kind && kind->heading == Heading::removed;
    }
    const Nanos length = seen_length(ear, in.recordings);
    if (by_heading.empty() && length == 0) return "";
    std::string out = std::string("\n") + (ear == Ear::right ? "RIGHT EAR" : "LEFT EAR") + "  (filmed " + format_clock(length);
    if (removed > 0) out += ", " + std::to_string(removed) + (removed == 1 ? " piece" : " pieces") + " removed";
    out += ")\n";
    if (by_heading.empty()) out += "  Nothing recorded.\n";
    for (const auto& [heading, words] : kLines)
        if (auto it = by_heading.find(heading); it != by_heading.end())
            out += std::string("  ") + words + "\n" + listed(it->second, in.recordings, vocabulary);
    return out;
}

}  // namespace

std::string session_record(const RecordInput& in, const Vocabulary& vocabulary) {
    std::vector<Event> events;
    std::size_t suggestions = 0;
    for (const auto& e : in.events) {
        if (e.origin == Origin::person) events.push_back(e);
        else ++suggestions;
    }
    std::sort(events.begin(), events.end(), [&](const Event& a, const Event& b) {
        return std::pair(time_of(a, in.recordings), a.id) < std::pair(time_of(b, in.recordings), b.id);
    });

    std::string out = "SESSION " + in.session.id + "  (" + vocabulary.name() + ")\n";
    if (in.session.confirmed_by.empty())
        out += "DRAFT: not confirmed by a clinician yet" + (in.author.empty() ? "" : "; last written by " + in.author) + ".\n";
    else
        out += "Confirmed by " + in.session.confirmed_by + " at " + in.session.confirmed_at + ".\n";
    for (const auto& r : in.recordings)
        if (r.lost > 0) out += "Note: " + format_time(r.lost / kMillisecond * kMillisecond) + " of recording " + r.id + " could not be read.\n";
    for (Ear ear : {Ear::right, Ear::left}) out += ear_part(ear, in, events, vocabulary);
    if (events.empty()) out += "\nNo event has been tagged yet.\n";
    if (suggestions > 0)
        out += "\n" + std::to_string(suggestions) + (suggestions == 1 ? " suggestion is" : " suggestions are") + " not accepted and left out.\n";
    if (!in.later.empty()) {
        out += "\nChanged after it was confirmed\n";
        for (const auto& c : in.later) out += "    - " + c.at + ", " + c.by + ": " + c.what + "\n";
    }
    out += "\n" + vocabulary.caution() + "\n";
    return out;
}

}  // namespace canalogue
