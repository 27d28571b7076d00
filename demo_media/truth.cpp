#include "demo_media/truth.hpp"

#include <cmath>
#include <string_view>

namespace canalogue::demo {

namespace {

using Json = nlohmann::ordered_json;

// Room and face boxes are told in steps of this many seconds, each box holding all its step's frames.
constexpr double kBoxStep = 0.2;

double rounded(double seconds) {
    return std::round(seconds * 1000) / 1000;
}

std::string_view ear_name(Ear ear) {
    return ear == Ear::right ? "right" : "left";
}

Json boxed(const UprightBox& b) {
    return {{"x", b.x}, {"y", b.y}, {"w", b.w}, {"h", b.h}};
}

void add_span(Json& entry, double start, double end) {
    entry["start"] = rounded(start);
    entry["end"] = rounded(end);
}

Json spans(const std::vector<Stretch>& list) {
    Json out = Json::array();
    for (const Stretch& s : list) {
        Json entry = Json::object();
        add_span(entry, s.start, s.end);
        out.push_back(entry);
    }
    return out;
}

Json events(const Script& script) {
    Json out = Json::array();
    for (const Happening& h : script.happenings) {
        Json entry{{"kind", h.kind}, {"start", rounded(h.start)}};
        if (h.end > h.start) entry["end"] = rounded(h.end);
        entry["ear"] = ear_name(script.ear);
        entry["attributes"] = Json::object();
        for (const auto& [key, value] : h.attributes) entry["attributes"][key] = value;
        out.push_back(entry);
    }
    return out;
}

Json text_boxes(const Script& script, const BurntIn& text) {
    Json out = Json::array();
    for (const TextItem& item : text.items()) {
        Json entry{{"what", item.what}};
        entry.update(boxed(item.box));
        add_span(entry, 0, script.seconds);
        if (!item.text.empty()) entry["text"] = item.text;
        out.push_back(entry);
    }
    return out;
}

// what: "face" alone, or everything else.
Json room_boxes(const Script& script, const Room& room, bool faces) {
    Json out = Json::array();
    for (const Stretch& span : script.outside)
        for (double t = span.start; t < span.end - 1e-9; t += kBoxStep) {
            const double until = std::min(span.end, t + kBoxStep);
            std::map<std::string, UprightBox> seen;
            for (int i = 0; i <= 4; ++i)
                for (const RoomThing& thing : room.things(moment_at(script, t + (until - t) * i / 4)))
                    if ((thing.what == "face") == faces) {
                        auto [place, first] = seen.emplace(thing.what, thing.box);
                        if (!first) place->second = hull(place->second, thing.box);
                    }
            for (const auto& [what, box] : seen) {
                Json entry = Json::object();
                if (!faces) entry["what"] = what;
                entry.update(boxed(box));
                add_span(entry, t, until);
                out.push_back(entry);
            }
        }
    return out;
}

Json spoken_words(const std::vector<SpokenSpan>& spoken) {
    Json out = Json::array();
    for (const SpokenSpan& s : spoken) {
        Json entry{{"words", s.words}, {"name", s.name}};
        add_span(entry, s.start, s.end);
        out.push_back(entry);
    }
    return out;
}

}  // namespace

Json truth_of(const Script& script, const RecordingFacts& facts, const RecordingPainter& painter,
              const std::vector<SpokenSpan>& spoken) {
    Json out;
    out["file"] = facts.file;
    out["seconds"] = rounded(script.seconds);
    out["ear"] = ear_name(script.ear);
    out["frames_per_second"] = facts.frames_per_second;
    out["frames"] = facts.frames;
    out["dropped_frames"] = facts.dropped;
    out["events"] = events(script);
    out["text"] = text_boxes(script, painter.text());
    out["room_text"] = room_boxes(script, painter.room(), false);
    out["faces"] = room_boxes(script, painter.room(), true);
    out["outside"] = spans(script.outside);
    out["inside"] = spans(script.inside());
    out["smear"] = spans(script.smear);
    out["suction"] = spans(script.suction_on);
    out["spoken"] = spoken_words(spoken);
    out["metadata"] = facts.about;
    return out;
}

}  // namespace canalogue::demo
