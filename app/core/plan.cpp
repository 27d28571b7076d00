#include "app/core/plan.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/core/text.hpp"

namespace canalogue {

namespace {

using json = nlohmann::ordered_json;

constexpr int kPlanVersion = 1;
constexpr Nanos kLongestCard = 120 * kSecond;

struct Bad {
    std::string what;
};

// A misspelt member would otherwise be passed over in silence.
void only(const json& j, std::initializer_list<std::string_view> known) {
    if (!j.is_object()) throw Bad{"an object in braces is expected"};
    for (const auto& [key, value] : j.items())
        if (std::find(known.begin(), known.end(), key) == known.end()) {
            std::string names;
            for (const auto& k : known) names += (names.empty() ? "" : ", ") + std::string(k);
            throw Bad{"'" + legible(key) + "' is not known; there may be " + names};
        }
}

const json& list_in(const json& j, const char* key) {
    static const json kNone = json::array();
    if (!j.contains(key)) return kNone;
    if (!j[key].is_array()) throw Bad{std::string("'") + key + "' must be a list"};
    return j[key];
}

// Times are written as people read them: "1:02.25".
Nanos time_from(const json& j, const char* key) {
    if (!j.contains(key)) throw Bad{std::string("'") + key + "' is missing"};
    const json& v = j[key];
    if (v.is_number()) {
        const double s = v.get<double>();
        if (!(s >= 0 && s < 1e6)) throw Bad{std::string("'") + key + "' must be a time"};
        return nanos_from_seconds(s);
    }
    if (!v.is_string()) throw Bad{std::string("'") + key + "' must be a time such as \"1:02.25\""};
    auto t = parse_time(v.get<std::string>());
    if (!t) throw Bad{std::string("'") + key + "' must be a time such as \"1:02.25\""};
    return *t;
}

std::string text_from(const json& j, const char* key, const std::string& otherwise = "") {
    if (!j.contains(key)) return otherwise;
    if (!j[key].is_string()) throw Bad{std::string("'") + key + "' must be text"};
    return j[key].get<std::string>();
}

double number_from(const json& j, const char* key, double otherwise, double low, double high) {
    if (!j.contains(key)) return otherwise;
    if (!j[key].is_number()) throw Bad{std::string("'") + key + "' must be a number"};
    const double v = j[key].get<double>();
    if (!(v >= low && v <= high)) {
        char range[96];
        std::snprintf(range, sizeof range, "' must lie between %g and %g", low, high);
        throw Bad{std::string("'") + key + range};
    }
    return v;
}

std::vector<std::string> lines_from(const json& j, const char* key) {
    std::vector<std::string> out;
    if (!j.contains(key)) return out;
    if (!j[key].is_array()) throw Bad{std::string("'") + key + "' must be a list of lines"};
    for (const auto& line : j[key]) {
        if (!line.is_string()) throw Bad{std::string("'") + key + "' must be a list of lines"};
        out.push_back(line.get<std::string>());
    }
    return out;
}

template <class T>
T choice_from(const json& j, const char* key, T otherwise, std::initializer_list<std::pair<const char*, T>> names) {
    if (!j.contains(key)) return otherwise;
    const std::string text = text_from(j, key);
    std::string known;
    for (const auto& [name, value] : names) {
        if (text == name) return value;
        known += (known.empty() ? "" : ", ") + std::string(name);
    }
    throw Bad{std::string("'") + key + "' must be one of " + known};
}

const std::initializer_list<std::pair<const char*, CaptionStyle>> kCaptions{{"beside", CaptionStyle::beside}, {"burnt", CaptionStyle::burnt}};
const std::initializer_list<std::pair<const char*, StripStyle>> kStrips{{"below", StripStyle::below}, {"over", StripStyle::over}, {"off", StripStyle::off}};
const std::initializer_list<std::pair<const char*, CoverLook>> kLooks{{"soft", CoverLook::soft}, {"plain", CoverLook::plain}};
const std::initializer_list<std::pair<const char*, Card::Role>> kRoles{{"title", Card::Role::title}, {"note", Card::Role::note}, {"end", Card::Role::end}};

template <class T>
const char* written(T value, std::initializer_list<std::pair<const char*, T>> names) {
    for (const auto& [name, v] : names)
        if (v == value) return name;
    return "";
}

json narration_json(const std::vector<NarrationLine>& lines) {
    json out = json::array();
    for (const auto& line : lines) out.push_back(line.take.empty() ? json(line.text) : json{{"says", line.text}, {"take", line.take}});
    return out;
}

// A line is its words, or {"says": words, "take": id}.
std::vector<NarrationLine> narration_from(const json& j) {
    std::vector<NarrationLine> out;
    for (const auto& line : list_in(j, "narration")) {
        if (line.is_string()) {
            out.emplace_back(line.get<std::string>());
            continue;
        }
        if (!line.is_object()) throw Bad{"'narration' must be a list of lines"};
        only(line, {"says", "take"});
        out.emplace_back(text_from(line, "says"), text_from(line, "take"));
        if (out.back().text.empty()) throw Bad{"a line of 'narration' lacks its words in 'says': captions need them"};
    }
    return out;
}

json card_json(const Card& c) {
    return {{"card", written(c.role, kRoles)}, {"title", c.title}, {"lines", c.lines}, {"length", format_time(c.length)},
            {"chapter", c.chapter}, {"narration", narration_json(c.narration)}};
}

json window_json(const ShareBox& b) { return {{"x", b.x}, {"y", b.y}, {"width", b.w}, {"height", b.h}}; }

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
    return out;
}

Card card_from(const json& j) {
    only(j, {"card", "title", "lines", "length", "chapter", "narration"});
    Card c;
    c.role = choice_from(j, "card", Card::Role::note, kRoles);
    c.title = text_from(j, "title");
    c.lines = lines_from(j, "lines");
    c.length = time_from(j, "length");
    c.chapter = text_from(j, "chapter");
    c.narration = narration_from(j);
    if (c.length <= 0 || c.length > kLongestCard) throw Bad{"'length' must lie between 0 and 2:00"};
    return c;
}

ShareBox window_from(const json& j) {
    only(j, {"x", "y", "width", "height"});
    for (const char* key : {"x", "y", "width", "height"})
        if (!j.contains(key)) throw Bad{std::string("a close-up window's '") + key + "' is missing"};
    const auto share = [&](const char* key) { return number_from(j, key, 0, 0, 1); };
    return {share("x"), share("y"), share("width"), share("height")};
}

CloseUp close_up_from(const json& j, const RecordingSpan& passage) {
    only(j, {"from", "until", "moving"});
    if (!j.contains("from")) throw Bad{"a close-up's window 'from' is missing"};
    CloseUp c;
    c.first = window_from(j["from"]);
    if (j.contains("until")) c.last = window_from(j["until"]);
    if (j.contains("moving")) {
        only(j["moving"], {"from", "until"});
        c.moving = RecordingSpan{{time_from(j["moving"], "from")}, {time_from(j["moving"], "until")}};
    }
    if (auto fault = fault_of(c, passage); !fault.empty()) throw Bad{fault};
    return c;
}

Passage passage_from(const json& j) {
    only(j, {"recording", "ear", "from", "until", "pace", "chapter", "holds", "labels", "narration", "close_up"});
    Passage p;
    p.recording = text_from(j, "recording");
    if (p.recording.empty()) throw Bad{"'recording' is missing (or 'card', for a card)"};
    auto ear = ear_named(text_from(j, "ear"));
    if (!ear) throw Bad{"'ear' must be right or left"};
    p.ear = *ear;
    p.span = {{time_from(j, "from")}, {time_from(j, "until")}};
    if (p.span.empty()) throw Bad{"'until' must be later than 'from'"};
    p.pace = number_from(j, "pace", 1.0, kSlowest, kFastest);
    p.chapter = text_from(j, "chapter");
    p.narration = narration_from(j);
    for (const auto& h : list_in(j, "holds")) {
        only(h, {"at", "length"});
        p.holds.push_back({{time_from(h, "at")}, time_from(h, "length")});
        if (!p.span.holds(p.holds.back().at)) throw Bad{"a hold lies outside the passage"};
        if (p.holds.back().length > kLongestCard) throw Bad{"a hold must not be longer than 2:00"};
    }
    std::sort(p.holds.begin(), p.holds.end(), [](const Hold& a, const Hold& b) { return a.at < b.at; });
    for (const auto& l : list_in(j, "labels")) {
        only(l, {"from", "until", "text"});
        p.labels.push_back({{time_from(l, "from")}, {time_from(l, "until")}, text_from(l, "text")});
        const Label& label = p.labels.back();
        if (label.until < label.from) throw Bad{"a label's 'until' is earlier than its 'from'"};
        if (label.from >= p.span.end || label.until < p.span.start) throw Bad{"a label lies outside the passage"};
    }
    if (j.contains("close_up")) p.close_up = close_up_from(j["close_up"], p.span);
    return p;
}

FilmSettings film_from(const json& j) {
    only(j, {"size", "frames_per_second", "captions", "strip", "covers", "original_sound", "loudness"});
    FilmSettings f;
    if (j.contains("size")) {
        const std::string size = text_from(j, "size");
        if (size == "1280x720") f.size = {1280, 720};
        else if (size == "1920x1080") f.size = {1920, 1080};
        else throw Bad{"'size' must be 1280x720 or 1920x1080"};
    }
    const double rate = number_from(j, "frames_per_second", 25, 10, 60);
    if (rate != static_cast<int>(rate)) throw Bad{"'frames_per_second' must be a whole number"};
    f.frames_per_second = static_cast<int>(rate);
    f.captions = choice_from(j, "captions", f.captions, kCaptions);
    f.strip = choice_from(j, "strip", f.strip, kStrips);
    f.covers = choice_from(j, "covers", f.covers, kLooks);
    if (j.contains("original_sound")) {
        if (!j["original_sound"].is_boolean()) throw Bad{"'original_sound' must be true or false"};
        f.original_sound = j["original_sound"].get<bool>();
    }
    f.loudness = number_from(j, "loudness", f.loudness, -30, -10);
    return f;
}

// ", at line 3, column 7"; `byte` counts from 1.
std::string line_of(const std::string& text, std::size_t byte) {
    const std::size_t end = std::min(byte ? byte - 1 : 0, text.size());
    const auto line = 1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(end), '\n');
    const auto begins = end == 0 ? std::string::npos : text.rfind('\n', end - 1);
    return ", at line " + std::to_string(line) + ", column " + std::to_string(begins == std::string::npos ? end + 1 : end - begins);
}

}  // namespace

const std::vector<NarrationLine>& narration_of(const PlanItem& item) {
    return std::visit([](const auto& i) -> const std::vector<NarrationLine>& { return i.narration; }, item);
}

void trim(Passage& p, RecordingSpan span) {
    p.span = span;
    std::erase_if(p.holds, [&](const Hold& h) { return !span.holds(h.at); });
    std::erase_if(p.labels, [&](const Label& l) { return l.from >= span.end || l.until < span.start; });
    if (p.close_up) p.close_up = trimmed(*p.close_up, span);
}

std::size_t move_item(Plan& plan, std::size_t item, std::size_t before) {
    const auto at = [&](std::size_t i) { return plan.items.begin() + static_cast<std::ptrdiff_t>(i); };
    before = std::min(before, plan.items.size());
    if (before > item) {
        std::rotate(at(item), at(item + 1), at(before));
        return before - 1;
    }
    std::rotate(at(before), at(item), at(item + 1));
    return before;
}

std::string plan_to_json(const Plan& plan) {
    const FilmSettings& f = plan.film;
    json items = json::array();
    for (const auto& item : plan.items) {
        if (const auto* card = std::get_if<Card>(&item)) items.push_back(card_json(*card));
        else items.push_back(passage_json(std::get<Passage>(item)));
    }
    const json j = {{"canalogue_plan", kPlanVersion},
                    {"title", plan.title},
                    {"language", plan.language},
                    {"film",
                     {{"size", std::to_string(f.size.w) + "x" + std::to_string(f.size.h)},
                      {"frames_per_second", f.frames_per_second},
                      {"captions", written(f.captions, kCaptions)},
                      {"strip", written(f.strip, kStrips)},
                      {"covers", written(f.covers, kLooks)},
                      {"original_sound", f.original_sound},
                      {"loudness", f.loudness}}},
                    {"items", items}};
    return j.dump(2) + "\n";
}

Result<Plan> plan_from_json(const std::string& text) {
    std::string where = "the plan";
    try {
        const json j = json::parse(text);
        if (!j.is_object() || !j.contains("canalogue_plan") || j["canalogue_plan"] != kPlanVersion)
            throw Bad{"'canalogue_plan' must be 1"};
        only(j, {"canalogue_plan", "title", "language", "film", "items"});
        Plan plan;
        plan.title = text_from(j, "title");
        plan.language = text_from(j, "language", "en-GB");
        where = "the plan's 'film'";
        if (j.contains("film")) plan.film = film_from(j["film"]);
        if (!j.contains("items") || !j["items"].is_array() || j["items"].empty()) throw Bad{"'items' must list cards and passages"};
        int number = 0;
        for (const auto& item : j["items"]) {
            where = "item " + std::to_string(++number) + " of the plan";
            if (item.contains("card")) plan.items.emplace_back(card_from(item));
            else plan.items.emplace_back(passage_from(item));
        }
        return plan;
    } catch (const Bad& bad) {
        return wrong_use("In " + where + ", " + bad.what + ".");
    } catch (const json::parse_error& e) {
        return wrong_use("The plan is not readable JSON" + line_of(text, e.byte) + ": a comma, a quote or a bracket may be missing there.");
    } catch (const json::exception&) {
        return wrong_use("In " + where + ", something has the wrong form; docs/plan.schema.json shows the right one.");
    }
}

Result<void> plan_fits(const Plan& plan, const std::vector<Recording>& recordings) {
    int number = 0;
    for (const auto& item : plan.items) {
        ++number;
        const auto* p = std::get_if<Passage>(&item);
        if (!p) continue;
        const std::string where = "Item " + std::to_string(number) + " of the plan ";
        const auto it = std::find_if(recordings.begin(), recordings.end(), [&](const Recording& each) { return each.id == p->recording; });
        if (it == recordings.end()) return wrong_use(where + "names recording '" + legible(p->recording) + "', which this session does not have.");
        const Recording& r = *it;
        if (p->span.start < r.only.start || p->span.end > r.only.end)
            return wrong_use(where + "reaches beyond its recording, which ends at " + format_time(r.only.end.ns) + ".");
        if (p->close_up)
            if (auto fault = fault_of(*p->close_up, p->span); !fault.empty()) return wrong_use(where + "cannot be shown: " + fault + ".");
        for (const auto& e : r.ears)
            if (e.span.meets(p->span) && e.ear != p->ear)
                return wrong_use(where + "says " + std::string(name_of(p->ear)) + " ear, but the recording shows the " + std::string(name_of(e.ear)) + " ear there.");
    }
    return {};
}

}  // namespace canalogue
