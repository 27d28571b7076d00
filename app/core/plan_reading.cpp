#include <set>

#include "app/core/json_reading.hpp"
#include "app/core/plan.hpp"
#include "app/core/plan_names.hpp"

namespace canalogue {

namespace {

using namespace reading;

constexpr Nanos kLongestCard = 120 * kSecond;

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

Card card_from(const json& j) {
    only(j, {"card", "title", "lines", "length", "chapter", "narration"});
    Card c;
    c.role = choice_from(j, "card", Card::Role::note, kRoles);
    c.title = text_from(j, "title");
    c.lines = lines_from(j, "lines");
    c.length = time_from(j, "length");
    c.chapter = text_from(j, "chapter");
    c.narration = narration_from(j);
    if (c.length <= 0 || c.length > kLongestCard) throw Bad{"'length' must be more than 0 and at most 2:00"};
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

RecordingSpan span_from(const json& j) {
    only(j, {"from", "until"});
    const RecordingSpan s{{time_from(j, "from")}, {time_from(j, "until")}};
    if (s.empty()) throw Bad{"'until' must be later than 'from'"};
    return s;
}

WhiteReference white_from(const json& j, const RecordingSpan& passage) {
    only(j, {"at", "grey", "over"});
    WhiteReference w;
    if (j.contains("over") == j.contains("grey")) throw Bad{"'white' needs either 'grey', a part of the picture, or 'over', a span"};
    if (j.contains("over")) w.over = span_from(j["over"]);
    else w.grey = window_from(j["grey"]), w.at = {j.contains("at") ? time_from(j, "at") : passage.start.ns};
    if (w.grey && (w.grey->w <= 0 || w.grey->h <= 0)) throw Bad{"the grey part of 'white' is empty"};
    return w;
}

Pointer pointer_from(const json& j, const RecordingSpan& passage) {
    only(j, {"shape", "from", "until", "path", "width", "height", "text"});
    Pointer p;
    p.shape = choice_from(j, "shape", p.shape, kPointerShapes);
    p.from = {time_from(j, "from")}, p.until = {time_from(j, "until")};
    for (const auto& s : list_in(j, "path")) {
        only(s, {"at", "x", "y"});
        p.path.push_back({{time_from(s, "at")}, number_from(s, "x", 0.5, 0, 1), number_from(s, "y", 0.5, 0, 1)});
    }
    p.w = number_from(j, "width", p.w, 0.005, 1), p.h = number_from(j, "height", p.h, 0.005, 1);
    p.text = text_from(j, "text");
    if (auto fault = fault_of(p, passage); !fault.empty()) throw Bad{fault};
    return p;
}

// Says what lies outside, and where the passage is.
void within(const RecordingSpan& passage, bool holds, const std::string& what, RecordingTime at) {
    if (!holds) throw Bad{what + " at " + format_time(at.ns) + " lies outside the passage, which goes from " + format_time(passage.start.ns) + " to " + format_time(passage.end.ns)};
}

Place place_from(const json& j, const RecordingSpan& passage) {
    only(j, {"from", "until", "clock", "depth"});
    Place p{{time_from(j, "from")}, {time_from(j, "until")}, static_cast<int>(number_from(j, "clock", 12, 1, 12)), text_from(j, "depth")};
    if (p.until < p.from) throw Bad{"a place's 'until' is earlier than its 'from'"};
    within(passage, p.from < passage.end && p.until >= passage.start, "a place", p.from);
    if (p.depth != "" && p.depth != "outer" && p.depth != "middle" && p.depth != "deep") throw Bad{"'depth' must be one of outer, middle, deep"};
    return p;
}

Beside beside_from(const json& j) {
    only(j, {"session", "recording", "ear", "meets", "with", "words", "other_words", "fill"});
    Beside b;
    b.session = text_from(j, "session"), b.recording = text_from(j, "recording");
    if (b.recording.empty()) throw Bad{"'recording' of 'beside' is missing"};
    const auto ear = ear_named(text_from(j, "ear"));
    if (!ear) throw Bad{"'ear' of 'beside' must be right or left"};
    b.ear = *ear;
    b.meets = {time_from(j, "meets")}, b.with = {time_from(j, "with")};
    b.words = text_from(j, "words"), b.other_words = text_from(j, "other_words");
    b.fill = flag_from(j, "fill");
    return b;
}

Question question_from(const json& j, const RecordingSpan& passage) {
    only(j, {"at", "asks", "choices", "right", "spot", "reveals"});
    Question q;
    q.at = {time_from(j, "at")};
    q.asks = text_from(j, "asks");
    q.choices = lines_from(j, "choices");
    q.reveals = text_from(j, "reveals");
    within(passage, passage.holds(q.at), "a question", q.at);
    if (q.asks.empty()) throw Bad{"a question lacks its words in 'asks'"};
    if (j.contains("spot") == !q.choices.empty()) throw Bad{"a question needs either 'choices' or a 'spot' to be marked"};
    if (j.contains("spot")) q.spot = window_from(j["spot"]);
    else if (std::set(q.choices.begin(), q.choices.end()).size() < q.choices.size()) throw Bad{"two choices of a question are the same"};
    else if (q.choices.size() < 2) throw Bad{"a question needs at least two choices"};
    else q.right = static_cast<int>(number_from(j, "right", 0, 1, static_cast<double>(q.choices.size()))) - 1;
    if (!q.spot && q.right < 0) throw Bad{"'right' of a question is missing: the number of the right choice, counted from 1"};
    return q;
}

void read_view(Passage& p, const json& j) {
    if (j.contains("ramp")) p.ramp = time_from(j, "ramp");
    if (p.ramp > p.span.length() / 2) throw Bad{"'ramp' must be at most half of the passage"};
    if (j.contains("view")) {
        const json& v = j["view"];
        only(v, {"turn", "mirrored", "brightness", "steady", "white"});
        p.view.turn = number_from(v, "turn", 0, -180, 180);
        p.view.brightness = number_from(v, "brightness", 0, -kMostBrightness, kMostBrightness);
        p.view.mirrored = flag_from(v, "mirrored"), p.view.steady = flag_from(v, "steady");
        if (v.contains("white")) p.view.white = white_from(v["white"], p.span);
    }
    for (const auto& each : list_in(j, "pointers")) p.pointers.push_back(pointer_from(each, p.span));
    for (const auto& each : list_in(j, "places")) p.places.push_back(place_from(each, p.span));
    if (j.contains("beside")) p.beside = beside_from(j["beside"]);
}

Passage passage_from(const json& j) {
    only(j, {"recording", "ear", "from", "until", "pace", "chapter", "holds", "labels", "narration", "close_up", "ramp", "view", "pointers", "places", "beside", "heard",
             "questions"});
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
        within(p.span, p.span.holds(p.holds.back().at), "a hold", p.holds.back().at);
        if (p.holds.back().length > kLongestCard) throw Bad{"a hold must not be longer than 2:00"};
    }
    std::sort(p.holds.begin(), p.holds.end(), [](const Hold& a, const Hold& b) { return a.at < b.at; });
    for (const auto& l : list_in(j, "labels")) {
        only(l, {"from", "until", "text"});
        p.labels.push_back({{time_from(l, "from")}, {time_from(l, "until")}, text_from(l, "text")});
        const Label& label = p.labels.back();
        if (label.until < label.from) throw Bad{"a label's 'until' is earlier than its 'from'"};
        within(p.span, label.from < p.span.end && label.until >= p.span.start, "the label '" + legible(label.text) + "'", label.from);
    }
    if (j.contains("close_up")) p.close_up = close_up_from(j["close_up"], p.span);
    read_view(p, j);
    for (const auto& each : list_in(j, "heard")) {
        p.heard.push_back(span_from(each));
        within(p.span, p.heard.back().meets(p.span), "a stretch of 'heard'", p.heard.back().start);
    }
    for (const auto& each : list_in(j, "questions")) p.questions.push_back(question_from(each, p.span));
    return p;
}

FilmSettings film_from(const json& j) {
    only(j, {"size", "frames_per_second", "captions", "strip", "covers", "original_sound", "loudness", "target", "megabytes", "format"});
    FilmSettings f;
    if (j.contains("size")) {
        const std::string size = text_from(j, "size");
        const auto it = std::find_if(std::begin(kFilmSizes), std::end(kFilmSizes), [&](Size s) { return written(s) == size; });
        if (it == std::end(kFilmSizes)) {
            std::string known;
            for (const Size s : kFilmSizes) known += (known.empty() ? "" : ", ") + written(s);
            throw Bad{"'size' must be one of " + known};
        }
        f.size = *it;
    }
    const double rate = number_from(j, "frames_per_second", 25, 10, 60);
    if (rate != static_cast<int>(rate)) throw Bad{"'frames_per_second' must be a whole number"};
    f.frames_per_second = static_cast<int>(rate);
    f.captions = choice_from(j, "captions", f.captions, kCaptions);
    f.strip = choice_from(j, "strip", f.strip, kStrips);
    f.covers = choice_from(j, "covers", f.covers, kLooks);
    f.original_sound = flag_from(j, "original_sound");
    f.loudness = number_from(j, "loudness", f.loudness, -30, -10);
    f.target = choice_from(j, "target", f.target, kTargets);
    f.megabytes = number_from(j, "megabytes", f.megabytes, 0.2, 4000);
    f.format = choice_from(j, "format", f.format, kFormats);
    return f;
}

About about_from(const json& j) {
    only(j, {"made_by", "made_for", "aims", "case", "outcome", "consent", "conflicts", "credits", "tags"});
    const auto text = [&](const char* key) { return text_from(j, key); };
    return {text("made_by"), text("made_for"), lines_from(j, "aims"), text("case"), text("outcome"), text("consent"), text("conflicts"),
            lines_from(j, "credits"), lines_from(j, "tags")};
}

// ", at line 3, column 7"; `byte` counts from 1.
std::string line_of(const std::string& text, std::size_t byte) {
    const std::size_t end = std::min(byte ? byte - 1 : 0, text.size());
    const auto line = 1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(end), '\n');
    const auto begins = end == 0 ? std::string::npos : text.rfind('\n', end - 1);
    return ", at line " + std::to_string(line) + ", column " + std::to_string(begins == std::string::npos ? end + 1 : end - begins);
}

}  // namespace

Result<Plan> plan_from_json(const std::string& text) {
    std::string where = "the plan";
    try {
        const json j = parsed(text);
        if (!j.is_object() || !j.contains("canalogue_plan") || j["canalogue_plan"] != kPlanVersion)
            throw Bad{"'canalogue_plan' must be 1"};
        only(j, {"canalogue_plan", "session", "title", "language", "film", "about", "items"});
        Plan plan;
        plan.session = text_from(j, "session");
        plan.title = text_from(j, "title");
        plan.language = text_from(j, "language", "en-GB");
        where = "the plan's 'film'";
        if (j.contains("film")) plan.film = film_from(j["film"]);
        where = "the plan's 'about'";
        if (j.contains("about")) plan.about = about_from(j["about"]);
        where = "the plan";
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

}  // namespace canalogue
