#include <nlohmann/json.hpp>

#include "app/core/plan.hpp"
#include "app/core/plan_names.hpp"

namespace canalogue {

namespace {

using json = nlohmann::ordered_json;

json narration_json(const std::vector<NarrationLine>& lines) {
    json out = json::array();
    for (const auto& line : lines) out.push_back(line.take.empty() ? json(line.text) : json{{"says", line.text}, {"take", line.take}});
    return out;
}

json card_json(const Card& c) {
    return {{"card", written(c.role, kRoles)}, {"title", c.title}, {"lines", c.lines}, {"length", format_time(c.length)},
            {"chapter", c.chapter}, {"narration", narration_json(c.narration)}};
}

json window_json(const ShareBox& b) { return {{"x", b.x}, {"y", b.y}, {"width", b.w}, {"height", b.h}}; }

json span_json(const RecordingSpan& s) { return {{"from", format_time(s.start.ns)}, {"until", format_time(s.end.ns)}}; }

template <class T>
json list_json(const std::vector<T>& list, json (*each)(const T&)) {
    json out = json::array();
    for (const auto& one : list) out.push_back(each(one));
    return out;
}

json view_json(const ViewChange& v) {
    json out = {{"turn", v.turn}, {"mirrored", v.mirrored}, {"brightness", v.brightness}, {"steady", v.steady}};
    if (!v.white) return out;
    if (v.white->grey) out["white"] = {{"at", format_time(v.white->at.ns)}, {"grey", window_json(*v.white->grey)}};
    else if (v.white->over) out["white"] = {{"over", span_json(*v.white->over)}};
    return out;
}

json pointer_json(const Pointer& p) {
    json path = json::array();
    for (const auto& s : p.path) path.push_back({{"at", format_time(s.at.ns)}, {"x", s.x}, {"y", s.y}});
    return {{"shape", written(p.shape, kPointerShapes)}, {"from", format_time(p.from.ns)}, {"until", format_time(p.until.ns)},
            {"path", path}, {"width", p.w}, {"height", p.h}, {"text", p.text}};
}

json place_json(const Place& p) {
    return {{"from", format_time(p.from.ns)}, {"until", format_time(p.until.ns)}, {"clock", p.clock}, {"depth", p.depth}};
}

json beside_json(const Beside& b) {
    return {{"session", b.session}, {"recording", b.recording}, {"ear", name_of(b.ear)}, {"meets", format_time(b.meets.ns)},
            {"with", format_time(b.with.ns)}, {"words", b.words}, {"other_words", b.other_words}, {"fill", b.fill}};
}

json question_json(const Question& q) {
    json out = {{"at", format_time(q.at.ns)}, {"asks", q.asks}};
    if (q.spot) out["spot"] = window_json(*q.spot);
    else out["choices"] = q.choices, out["right"] = q.right + 1;
    out["reveals"] = q.reveals;
    return out;
}

json close_up_json(const CloseUp& c) {
    json out = {{"from", window_json(c.first)}};
    if (c.last) out["until"] = window_json(*c.last);
    if (c.moving) out["moving"] = {{"from", format_time(c.moving->start.ns)}, {"until", format_time(c.moving->end.ns)}};
    return out;
}

json passage_json(const Passage& p) {
    json holds = json::array(), labels = json::array();
    for (const auto& h : p.holds) holds.push_back({{"at", format_time(h.at.ns)}, {"length", format_time(h.length)}});
    for (const auto& l : p.labels)
        labels.push_back({{"from", format_time(l.from.ns)}, {"until", format_time(l.until.ns)}, {"text", l.text}});
    json out = {{"recording", p.recording}, {"ear", name_of(p.ear)}, {"from", format_time(p.span.start.ns)},
                {"until", format_time(p.span.end.ns)}, {"pace", p.pace}, {"chapter", p.chapter}, {"holds", holds},
                {"labels", labels}, {"narration", narration_json(p.narration)}};
    if (p.close_up) out["close_up"] = close_up_json(*p.close_up);
    if (p.ramp > 0) out["ramp"] = format_time(p.ramp);
    if (p.view != ViewChange{}) out["view"] = view_json(p.view);
    if (!p.pointers.empty()) out["pointers"] = list_json(p.pointers, pointer_json);
    if (!p.places.empty()) out["places"] = list_json(p.places, place_json);
    if (p.beside) out["beside"] = beside_json(*p.beside);
    if (!p.heard.empty()) out["heard"] = list_json(p.heard, span_json);
    if (!p.questions.empty()) out["questions"] = list_json(p.questions, question_json);
    return out;
}

json about_json(const About& a) {
    return {{"made_by", a.made_by}, {"made_for", a.made_for}, {"aims", a.aims}, {"case", a.case_text}, {"outcome", a.outcome},
            {"consent", a.consent}, {"conflicts", a.conflicts}, {"credits", a.credits}, {"tags", a.tags}};
}

}  // namespace

std::string plan_to_json(const Plan& plan) {
    const FilmSettings& f = plan.film;
    json items = json::array();
    for (const auto& item : plan.items) {
        if (const auto* card = std::get_if<Card>(&item)) items.push_back(card_json(*card));
        else items.push_back(passage_json(std::get<Passage>(item)));
    }
    json j = {{"canalogue_plan", kPlanVersion},
                    {"title", plan.title},
                    {"language", plan.language},
                    {"film",
                     {{"size", std::to_string(f.size.w) + "x" + std::to_string(f.size.h)},
                      {"frames_per_second", f.frames_per_second},
                      {"captions", written(f.captions, kCaptions)},
                      {"strip", written(f.strip, kStrips)},
                      {"covers", written(f.covers, kLooks)},
                      {"original_sound", f.original_sound},
                      {"loudness", f.loudness},
                      {"target", written(f.target, kTargets)},
                      {"megabytes", f.megabytes},
                      {"format", written(f.format, kFormats)}}},
                    {"about", about_json(plan.about)},
                    {"items", items}};
    if (!plan.session.empty()) j["session"] = plan.session;
    return j.dump(2) + "\n";
}

}  // namespace canalogue
