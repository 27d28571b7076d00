#include "export/sidecars.hpp"

#include <nlohmann/json.hpp>

#include "app/core/event_rules.hpp"

namespace canalogue::film {

namespace {

using json = nlohmann::ordered_json;

// Cue text: & and < must be escaped (WebVTT), and > for safety.
std::string escaped(const std::string& text) {
    std::string out;
    for (char c : text) {
        if (c == '&') out += "&amp;";
        else if (c == '<') out += "&lt;";
        else if (c == '>') out += "&gt;";
        else if (c == '\n' || c == '\r') out += ' ';
        else out += c;
    }
    return out;
}

std::string timing(Nanos start, Nanos end) {
    // Written to the millisecond, where an end must still be later than its start.
    return format_timestamp(start) + " --> " + format_timestamp(std::max(end, start + kMillisecond));
}

std::string csv_field(const std::string& text) {
    if (text.find_first_of(",\"\n\r") == std::string::npos) return text;
    std::string out = "\"";
    for (char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
    return out + "\"";
}

std::string attribute(const Event& e, const char* id) {
    const auto it = e.attributes.find(id);
    return it == e.attributes.end() ? "" : it->second;
}

json attributes_json(const TimedEvent& t) {
    json out = json::object();
    for (const auto& [id, value] : t.event->attributes) {
        const Attribute* a = t.kind->attribute(id);
        if (a && a->type == AttributeType::text) continue;
        out[id] = value;
    }
    return out;
}

}  // namespace

std::string npt(Nanos t) {
    const long long ms = (std::max<Nanos>(t, 0) + kMillisecond / 2) / kMillisecond;
    char text[48];
    std::snprintf(text, sizeof text, "%lld.%03lld", ms / 1000, ms % 1000);
    std::string out = text;
    while (out.back() == '0') out.pop_back();
    if (out.back() == '.') out.pop_back();
    return out;
}

std::string captions_vtt(const std::vector<Cue>& cues) {
    std::string out = "WEBVTT\n";
    for (const auto& cue : cues) {
        out += "\n" + timing(cue.span.start.ns, cue.span.end.ns) + "\n";
        for (const auto& line : cue.lines) out += escaped(line) + "\n";
    }
    return out;
}

std::string chapters_vtt(const std::vector<Chapter>& chapters, Nanos length) {
    std::string out = "WEBVTT\n";
    for (std::size_t i = 0; i < chapters.size(); ++i) {
        const Nanos end = i + 1 < chapters.size() ? chapters[i + 1].start.ns : length;
        out += "\n" + std::to_string(i + 1) + "\n" + timing(chapters[i].start.ns, end) + "\n" + escaped(chapters[i].title) + "\n";
    }
    return out;
}

std::string events_vtt(const std::vector<TimedEvent>& events) {
    std::string out = "WEBVTT\n";
    for (std::size_t i = 0; i < events.size(); ++i) {
        const auto& t = events[i];
        json body = {{"kind", t.kind->id}, {"ear", name_of(t.event->ear)}, {"words", described(*t.event, *t.kind, FreeText::leave_out)}};
        if (json a = attributes_json(t); !a.empty()) body["attributes"] = a;
        out += "\n" + std::to_string(i + 1) + "\n" + timing(t.start, t.end) + "\n" + escaped(body.dump()) + "\n";
    }
    return out;
}

std::string events_jsonld(const std::vector<TimedEvent>& events, const Vocabulary& vocabulary, const std::string& target, const std::string& language) {
    json out = json::array();
    for (std::size_t i = 0; i < events.size(); ++i) {
        const auto& t = events[i];
        json bodies = json::array();
        bodies.push_back({{"type", "SpecificResource"}, {"purpose", "classifying"}, {"source", "urn:canalogue:vocabulary:" + vocabulary.id() + ":" + t.kind->id}});
        bodies.push_back({{"type", "TextualBody"}, {"purpose", "describing"}, {"format", "text/plain"}, {"language", language},
                          {"value", std::string(name_of(t.event->ear)) + " ear: " + described(*t.event, *t.kind, FreeText::leave_out)}});
        out.push_back({{"@context", "http://www.w3.org/ns/anno.jsonld"},
                       {"id", "urn:canalogue:event:" + std::to_string(i + 1)},
                       {"type", "Annotation"},
                       {"motivation", "classifying"},
                       {"body", bodies},
                       {"target",
                        {{"source", target},
                         {"selector", {{"type", "FragmentSelector"}, {"conformsTo", "http://www.w3.org/TR/media-frags/"}, {"value", "t=" + npt(t.start) + "," + npt(std::max(t.end, t.start + kMillisecond))}}}}}});
    }
    return out.dump(2) + "\n";
}

std::string events_csv(const std::vector<TimedEvent>& events) {
    std::string out = "start,end,ear,kind,name,clock,depth,words\r\n";
    for (const auto& t : events) {
        const Event& e = *t.event;
        out += npt(t.start) + "," + npt(t.end) + "," + std::string(name_of(e.ear)) + "," + csv_field(e.kind) + "," + csv_field(t.kind->name) + "," +
               csv_field(attribute(e, "clock")) + "," + csv_field(attribute(e, "depth")) + "," + csv_field(described(e, *t.kind, FreeText::leave_out)) + "\r\n";
    }
    return out;
}

}  // namespace canalogue::film
