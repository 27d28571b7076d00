#include "app/core/session.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/core/text.hpp"

namespace canalogue {

using nlohmann::json;

namespace {

json span_json(const RecordingSpan& s) { return {s.start.ns, s.end.ns}; }
RecordingSpan span_from(const json& j) { return {{j.at(0).get<Nanos>()}, {j.at(1).get<Nanos>()}}; }

Ear ear_from(const json& j) { return j.get<std::string>() == "left" ? Ear::left : Ear::right; }

json track_json(const std::vector<TrackPoint>& track) {
    json out = json::array();
    for (const auto& p : track) out.push_back({p.t.ns, p.box.x, p.box.y, p.box.w, p.box.h});
    return out;
}

std::vector<TrackPoint> track_from(const json& j) {
    std::vector<TrackPoint> out;
    for (const auto& p : j)
        out.push_back({{p.at(0).get<Nanos>()},
                       {p.at(1).get<int>(), p.at(2).get<int>(), p.at(3).get<int>(), p.at(4).get<int>()}});
    return out;
}

Verdict verdict_from(const std::string& name) {
    return name == "cover" ? Verdict::cover : name == "harmless" ? Verdict::harmless : Verdict::open;
}

}  // namespace

std::optional<Ear> Recording::ear_at(RecordingTime t) const {
    for (const auto& e : ears)
        if (e.span.holds(t)) return e.ear;
    return std::nullopt;
}

void to_json(json& j, const Session& v) {
    j = {{"id", v.id}, {"vocabulary", v.vocabulary}, {"confirmed_by", v.confirmed_by},
         {"confirmed_at", v.confirmed_at}, {"confirmed_row", v.confirmed_row}};
}

void from_json(const json& j, Session& v) {
    v.id = j.at("id");
    v.vocabulary = j.at("vocabulary");
    v.confirmed_by = j.value("confirmed_by", "");
    v.confirmed_at = j.value("confirmed_at", "");
    v.confirmed_row = j.value("confirmed_row", std::int64_t{0});
}

void to_json(json& j, const Recording& v) {
    json ears = json::array();
    for (const auto& e : v.ears) ears.push_back({{"span", span_json(e.span)}, {"ear", name_of(e.ear)}});
    j = {{"id", v.id}, {"hash", v.hash}, {"offset", v.offset.ns}, {"only", span_json(v.only)}, {"ears", ears},
         {"stored", {v.stored.w, v.stored.h}}, {"rotation", static_cast<int>(v.rotation)},
         {"frames_per_second", v.frames_per_second}, {"interlaced", v.interlaced}, {"has_sound", v.has_sound},
         {"zero", v.zero}, {"lost", v.lost}, {"private", {{"path", stored_path(v.path)}}}};
    for (const auto& m : v.view_marks) j["view_marks"].push_back({{"span", span_json(m.span)}, {"inside", m.inside}});
}

void from_json(const json& j, Recording& v) {
    v.id = j.at("id");
    v.hash = j.at("hash");
    v.offset.ns = j.at("offset");
    v.only = span_from(j.at("only"));
    v.ears.clear();
    for (const auto& e : j.at("ears")) v.ears.push_back({span_from(e.at("span")), ear_from(e.at("ear"))});
    v.stored = {j.at("stored").at(0), j.at("stored").at(1)};
    v.rotation = static_cast<Rotation>(j.at("rotation").get<int>());
    v.frames_per_second = j.at("frames_per_second");
    v.interlaced = j.at("interlaced");
    v.has_sound = j.at("has_sound");
    v.zero = j.at("zero");
    v.lost = j.at("lost");
    v.view_marks.clear();
    if (j.contains("view_marks"))
        for (const auto& m : j["view_marks"]) v.view_marks.push_back({span_from(m.at("span")), m.at("inside")});
    v.path = path_from_stored(j.contains("private") ? j["private"].value("path", "") : "");
}

void to_json(json& j, const Event& v) {
    j = {{"id", v.id}, {"kind", v.kind}, {"ear", name_of(v.ear)}, {"recording", v.recording}, {"at", v.at.ns},
         {"author", v.author}, {"origin", v.origin == Origin::person ? "person" : "suggestion"},
         {"private", {{"attributes", v.attributes}, {"note", v.note}}}};
    if (v.until) j["until"] = v.until->ns;
}

void from_json(const json& j, Event& v) {
    v.id = j.at("id");
    v.kind = j.at("kind");
    v.ear = ear_from(j.at("ear"));
    v.recording = j.at("recording");
    v.at.ns = j.at("at");
    v.until.reset();
    if (j.contains("until")) v.until = RecordingTime{j["until"].get<Nanos>()};
    const json hidden = j.value("private", json::object());
    v.attributes = hidden.value("attributes", std::map<std::string, std::string>{});
    v.author = j.value("author", "");
    v.origin = j.value("origin", "person") == "person" ? Origin::person : Origin::suggestion;
    v.note = hidden.value("note", "");
}

void to_json(json& j, const Suspect& v) {
    j = {{"id", v.id}, {"recording", v.recording}, {"kind", name_of(v.kind)}, {"span", span_json(v.span)},
         {"track", track_json(v.track)}, {"sureness", v.sureness}, {"spotter", v.spotter}, {"field", legible(v.field)},
         {"verdict", name_of(v.decision.verdict)}, {"by", v.decision.by}, {"private", {{"reason", v.decision.reason}}}};
}

void from_json(const json& j, Suspect& v) {
    v.id = j.at("id");
    v.recording = j.at("recording");
    if (auto kind = suspect_kind_named(j.at("kind").get<std::string>())) v.kind = *kind;
    v.span = span_from(j.at("span"));
    v.track = track_from(j.at("track"));
    v.sureness = j.at("sureness");
    v.spotter = j.at("spotter");
    v.field = j.at("field");
    v.decision = {verdict_from(j.at("verdict")), j.value("private", json::object()).value("reason", ""), j.at("by")};
}

void to_json(json& j, const Scanned& v) {
    j = {{"recording", v.recording}, {"spotter", v.spotter}, {"version", v.version},
         {"span", span_json(v.span)}, {"by", v.by}, {"private", {{"reason", v.reason}}}};
}

void from_json(const json& j, Scanned& v) {
    v.recording = j.at("recording");
    v.spotter = j.at("spotter");
    v.version = j.at("version");
    v.span = span_from(j.at("span"));
    v.by = j.value("by", "");
    v.reason = j.value("private", json::object()).value("reason", "");
}

void to_json(json& j, const Dismissed& v) {
    j = {{"id", v.id}, {"kind", v.kind}, {"recording", v.recording}, {"at", v.at.ns}};
}

void from_json(const json& j, Dismissed& v) {
    v.id = j.at("id");
    v.kind = j.at("kind");
    v.recording = j.at("recording");
    v.at.ns = j.at("at");
}

void to_json(json& j, const Take& v) {
    j = {{"id", v.id}, {"length", v.length}, {"private", {{"says", v.says}}}};
}

void from_json(const json& j, Take& v) {
    v.id = j.at("id");
    v.length = j.at("length");
    v.says = j.value("private", json::object()).value("says", "");
}

const Recording* recording_at(const std::vector<Recording>& recordings, SessionTime t) {
    const Recording* found = nullptr;
    for (const auto& r : recordings)
        if (r.session_span().holds(t)) found = &r;
    return found;
}

void order_in_session_time(std::vector<Recording>& recordings) {
    std::sort(recordings.begin(), recordings.end(), [](const Recording& a, const Recording& b) {
        return std::tie(a.offset, a.id) < std::tie(b.offset, b.id);
    });
}

std::vector<EarSpan> with_side(std::vector<EarSpan> ears, RecordingSpan span, Ear ear) {
    std::vector<EarSpan> out;
    for (const auto& e : ears) {
        if (!e.span.meets(span)) {
            out.push_back(e);
            continue;
        }
        if (e.span.start < span.start) out.push_back({{e.span.start, span.start}, e.ear});
        if (e.span.end > span.end) out.push_back({{span.end, e.span.end}, e.ear});
    }
    out.push_back({span, ear});
    std::sort(out.begin(), out.end(), [](const EarSpan& a, const EarSpan& b) { return a.span < b.span; });
    // Neighbours that say the same are one.
    std::vector<EarSpan> joined;
    for (const auto& e : out) {
        if (!joined.empty() && joined.back().ear == e.ear && joined.back().span.end == e.span.start)
            joined.back().span.end = e.span.end;
        else
            joined.push_back(e);
    }
    return joined;
}

}  // namespace canalogue
