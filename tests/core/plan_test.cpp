#include <catch2/catch.hpp>

#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>

#include "app/core/audience.hpp"
#include "app/core/plan.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;
using nlohmann::json;

namespace {

Plan full_plan() {
    Plan plan;
    plan.session = "s2";
    plan.title = "Wax, \"hard\" & soft";
    plan.language = "cy-GB";
    plan.film = {{1920, 1080}, 30, CaptionStyle::burnt, StripStyle::over, CoverLook::plain, true, -19.5, FilmTarget::message, 8.5, FilmFormat::webm};
    plan.about = {"N. Example", "Nurses in training", {"To see the drum"}, "A blocked ear.", "Clear.", "Agreed in writing.", "None.", {"Drawn by us"}, {"wax"}};
    plan.items.emplace_back(Card{Card::Role::title, "Title", {"one", "two"}, 4 * kSecond, "Introduction", {"Hello."}});
    Passage p;
    p.recording = "r2";
    p.span = span(61.25, 75.123456789);
    p.pace = 1.75;
    p.ear = Ear::left;
    p.chapter = "Left ear: Drum";
    p.holds = {{at(62), 2 * kSecond}, {at(70.5), 1'500'000'000}};
    p.labels = {{at(61.25), at(64), "Drum visible: all"}};
    p.narration = {"The drum.", "It can be seen."};
    p.close_up = CloseUp{{0.1, 0.125, 0.5, 0.5}, ShareBox{0.3, 0.6, 0.25, 0.25}, span(62, 70.123456789)};
    p.ramp = kSecond / 2;
    p.view = {12.5, true, 0.5, WhiteReference{at(63), ShareBox{0.4, 0.4, 0.1, 0.1}, {}}, true};
    p.pointers = {{PointerShape::arrow, at(62), at(65), {{at(62), 0.25, 0.5}, {at(64), 0.5, 0.75}}, 0.2, 0.1, "Handle"}};
    p.places = {{at(62), at(65), 5, "deep"}};
    p.beside = Beside{"s2", "r1", Ear::left, at(3), at(64), "Before", "After", true};
    p.heard = {span(66, 67)};
    p.questions = {{at(64), "Which side?", {"Right", "Left"}, 1, {}, "The left."}, {at(66), "Where is the handle?", {}, -1, ShareBox{0.4, 0.2, 0.1, 0.3}, "There."}};
    plan.items.emplace_back(p);
    p.view.white = WhiteReference{{0}, {}, span(62, 63)};
    plan.items.emplace_back(p);
    plan.items.emplace_back(Card{Card::Role::end, "Outcome", {}, 6 * kSecond, "", {}});
    return plan;
}

Result<Plan> with(const std::function<void(json&)>& change) {
    json j = json::parse(plan_to_json(full_plan()));
    change(j);
    return plan_from_json(j.dump());
}

}  // namespace

TEST_CASE("A plan written and read back is the same plan, to the nanosecond") {
    const std::string text = plan_to_json(full_plan());
    auto back = plan_from_json(text);
    REQUIRE(back.ok());
    CHECK(plan_to_json(*back) == text);
    const auto& p = std::get<Passage>(back->items[1]);
    CHECK(p.span == span(61.25, 75.123456789));
    CHECK(p.ear == Ear::left);
    CHECK(p.pace == 1.75);
    CHECK(p.holds.size() == 2);
    CHECK(p.view == std::get<Passage>(full_plan().items[1]).view);
    CHECK(p.pointers[0].path == std::get<Passage>(full_plan().items[1]).pointers[0].path);
    CHECK(p.questions[0].right == 1);
    CHECK(p.questions[1].spot == ShareBox{0.4, 0.2, 0.1, 0.3});
    CHECK(back->session == "s2");
    CHECK(back->film.target == FilmTarget::message);
    CHECK(p.close_up == std::get<Passage>(full_plan().items[1]).close_up);
    CHECK(back->film.strip == StripStyle::over);
    CHECK(back->film.loudness == -19.5);
}

TEST_CASE("What is wrong in a plan is named with the item it stands in") {
    struct Row {
        std::function<void(json&)> change;
        const char *place, *fault;
    };
    const Row rows[] = {
        {[](json& j) { j["canalogue_plan"] = 2; }, "the plan", "must be 1"},
        {[](json& j) { j.erase("items"); }, "the plan", "'items'"},
        {[](json& j) { j["items"] = json::array(); }, "the plan", "'items'"},
        {[](json& j) { j["title"] = 7; }, "the plan", "'title' must be text"},
        {[](json& j) { j["film"]["size"] = "640x480"; }, "'film'", "1280x720"},
        {[](json& j) { j["film"]["frames_per_second"] = 29.97; }, "'film'", "whole number"},
        {[](json& j) { j["film"]["frames_per_second"] = 500; }, "'film'", "between 10 and 60"},
        {[](json& j) { j["film"]["captions"] = "above"; }, "'film'", "beside, burnt"},
        {[](json& j) { j["film"]["loudness"] = 3; }, "'film'", "between -30 and -10"},
        {[](json& j) { j["film"]["original_sound"] = "yes"; }, "'film'", "true or false"},
        {[](json& j) { j["items"][0]["length"] = "0"; }, "item 1", "'length' must be more than 0"},
        {[](json& j) { j["items"][0]["length"] = "3:00"; }, "item 1", "'length'"},
        {[](json& j) { j["items"][0]["lines"] = "one"; }, "item 1", "list of lines"},
        {[](json& j) { j["items"][0]["card"] = "intro"; }, "item 1", "title, note, warning, end"},
        {[](json& j) { j["items"][1].erase("recording"); }, "item 2", "'recording' is missing"},
        {[](json& j) { j["items"][1]["ear"] = "both"; }, "item 2", "right or left"},
        {[](json& j) { j["items"][1].erase("ear"); }, "item 2", "right or left"},
        {[](json& j) { j["items"][1]["until"] = "0:10"; }, "item 2", "later than 'from'"},
        {[](json& j) { j["items"][1]["from"] = "soon"; }, "item 2", "'from'"},
        {[](json& j) { j["items"][1]["from"] = -3; }, "item 2", "'from' must be a time"},
        {[](json& j) { j["items"][1]["pace"] = 0; }, "item 2", "between 0.25 and 8"},
        {[](json& j) { j["items"][1]["pace"] = "fast"; }, "item 2", "a number"},
        {[](json& j) { j["items"][1]["holds"][0]["at"] = "9:00"; }, "item 2", "outside the passage"},
        {[](json& j) { j["items"][1]["holds"][0]["length"] = "2:01"; }, "item 2", "longer than 2:00"},
        {[](json& j) { j["items"][1]["narration"] = json::array({1}); }, "item 2", "list of lines"},
        {[](json& j) { j["items"][1]["labels"][0]["from"] = "9:00"; }, "item 2", "earlier than its 'from'"},
        {[](json& j) { j["items"][1]["labels"][0] = {{"from", "9:00"}, {"until", "9:01"}, {"text", "x"}}; }, "item 2", "the label 'x' at 9:00"},
        {[](json& j) { j["items"][1]["close_up"]["from"]["x"] = 0.8; }, "item 2", "outside the picture"},
        {[](json& j) { j["items"][1]["close_up"]["from"]["x"] = -0.1; }, "item 2", "'x' must lie between 0 and 1"},
        {[](json& j) { j["items"][1]["close_up"]["until"]["width"] = j["items"][1]["close_up"]["until"]["height"] = 0.1; }, "item 2", "smaller than a sixth"},
        {[](json& j) { j["items"][1]["close_up"]["from"].erase("height"); }, "item 2", "'height' is missing"},
        {[](json& j) { j["items"][1]["close_up"].erase("from"); }, "item 2", "'from' is missing"},
        {[](json& j) { j["items"][1]["close_up"].erase("until"); }, "item 2", "needs a second window"},
        {[](json& j) { j["items"][1]["close_up"]["moving"]["until"] = "9:00"; }, "item 2", "moves outside the passage"},
        {[](json& j) { j["items"][1]["ramp"] = "0:08"; }, "item 2", "half of the passage"},
        {[](json& j) { j["items"][1]["view"]["turn"] = 200; }, "item 2", "between -180 and 180"},
        {[](json& j) { j["items"][1]["view"]["white"] = json::object(); }, "item 2", "either 'grey'"},
        {[](json& j) { j["items"][1]["pointers"][0]["path"] = json::array(); }, "item 2", "no place"},
        {[](json& j) { j["items"][1]["pointers"][0]["path"][1]["at"] = "1:02"; }, "item 2", "not in order"},
        {[](json& j) { j["items"][1]["pointers"][0]["shape"] = "finger"; }, "item 2", "arrow, ring, outline, words"},
        {[](json& j) { j["items"][1]["places"][0]["depth"] = "far"; }, "item 2", "outer, middle, deep"},
        {[](json& j) { j["items"][1]["places"][0]["clock"] = 13; }, "item 2", "between 1 and 12"},
        {[](json& j) { j["items"][1]["beside"].erase("recording"); }, "item 2", "'recording' of 'beside' is missing"},
        {[](json& j) { j["items"][1]["heard"][0]["until"] = "0:01"; }, "item 2", "later than 'from'"},
        {[](json& j) { j["items"][1]["questions"][0]["choices"] = json::array({"one"}); }, "item 2", "at least two choices"},
        {[](json& j) { j["items"][1]["heard"] = json::array({{{"from", "0:01"}, {"until", "0:02"}}}); }, "item 2", "of 'heard' at"},
        {[](json& j) { j["items"][1]["questions"][0]["choices"] = json::array({"Left", "Left"}); }, "item 2", "are the same"},
        {[](json& j) { j["items"][1]["questions"][0]["right"] = 3; }, "item 2", "between 1 and 2"},
        {[](json& j) { j["items"][1]["questions"][0].erase("right"); }, "item 2", "'right' of a question is missing"},
        {[](json& j) { j["items"][1]["questions"][1]["choices"] = json::array({"one", "two"}); }, "item 2", "either 'choices' or a 'spot'"},
        {[](json& j) { j["items"][1]["questions"][0]["at"] = "9:00"; }, "item 2", "a question at"},
        {[](json& j) { j["about"]["aim"] = 1; }, "'about'", "'aim' is not known"},
        {[](json& j) { j["film"]["megabytes"] = 0; }, "'film'", "between 0.2"},
        {[](json& j) { j["items"][1]["close_up"]["ease"] = true; }, "item 2", "'ease' is not known"},
        {[](json& j) { j["items"][1]["close_up"] = "large"; }, "item 2", "braces"},
        {[](json& j) { j["film"] = nullptr; }, "'film'", "braces"},
        // A misspelt member is not passed over.
        {[](json& j) { j["autor"] = "x"; }, "the plan", "'autor' is not known"},
        {[](json& j) { j["film"]["fps"] = 25; }, "'film'", "'fps' is not known"},
        {[](json& j) { j["items"][0]["lenght"] = "4"; }, "item 1", "'lenght' is not known; there may be card, title"},
        {[](json& j) { j["items"][1]["pase"] = 2; }, "item 2", "'pase' is not known"},
        {[](json& j) { j["items"][1]["holds"][0]["for"] = 2; }, "item 2", "'for' is not known"},
    };
    for (const auto& row : rows) {
        auto plan = with(row.change);
        INFO(row.place << ": " << row.fault);
        REQUIRE_FALSE(plan.ok());
        CHECK(plan.failure().trouble == Trouble::wrong_use);
        CHECK(plan.failure().sentence.find(row.place) != std::string::npos);
        CHECK(plan.failure().sentence.find(row.fault) != std::string::npos);
    }
}

TEST_CASE("A plan of any wrong shape is refused with a sentence, never a crash") {
    for (const char* text : {"", "{", "null", "[]", "\"plan\"", "{\"canalogue_plan\":\"1\"}", "{\"canalogue_plan\":1,\"items\":[3]}", "{\"canalogue_plan\":1,\"items\":[null]}",
                             "{\"canalogue_plan\":1,\"film\":3,\"items\":[{}]}"}) {
        INFO(text);
        auto plan = plan_from_json(text);
        REQUIRE_FALSE(plan.ok());
        CHECK(plan.failure().sentence.back() == '.');
    }
    for (const char* list : {"holds", "labels"})
        for (const json& wrong : {json(3), json("x"), json::array({3}), json::object({{"a", 1}})}) {
            INFO(list << " = " << wrong);
            CHECK_FALSE(with([&](json& j) { j["items"][1][list] = wrong; }).ok());
        }
}

TEST_CASE("Broken JSON is told by its line and column") {
    auto plan = plan_from_json("{\"canalogue_plan\": 1,\n \"items\": [\n  {\"card\" \"title\"}]}");
    REQUIRE_FALSE(plan.ok());
    CHECK(plan.failure().sentence.find("at line 3, column 1") != std::string::npos);
}

TEST_CASE("A member that stands twice is told, for one of the two would be lost") {
    auto plan = plan_from_json(R"({"canalogue_plan":1,"items":[{"card":"title","title":"A"},{"card":"title","title":"B","length":"0:01","title":"C"}]})");
    REQUIRE_FALSE(plan.ok());
    CHECK(plan.failure().sentence == "In the plan, 'title' stands twice in one place.");
}

TEST_CASE("A plan is held against the session's recordings") {
    Recording r;
    r.id = "r2";
    r.only = span(60, 90);
    r.ears = {{span(60, 90), Ear::left}};
    const Plan plan = full_plan();
    CHECK(plan_fits(plan, {r}).ok());
    const auto fault = [&](const std::vector<Recording>& recordings) {
        const auto fits = plan_fits(plan, recordings);
        REQUIRE_FALSE(fits.ok());
        return fits.failure().sentence;
    };
    CHECK(fault({}).find("does not have") != std::string::npos);
    Recording shorter = r;
    shorter.only = span(60, 70);
    CHECK(fault({shorter}).find("beyond its recording, which ends at 1:10") != std::string::npos);
    Plan white = plan;
    std::get<Passage>(white.items[1]).view.white = WhiteReference{{0}, {}, span(540, 541)};
    CHECK_FALSE(plan_fits(white, {r}).ok());
    Recording other_side = r;
    other_side.ears = {{span(60, 90), Ear::right}};
    CHECK(fault({other_side}).find("says left ear, but the recording shows the right ear") != std::string::npos);
}

TEST_CASE("A close-up that no film can show is refused in a plan from anywhere") {
    Recording r;
    r.id = "r2";
    r.only = span(60, 90);
    Plan plan = full_plan();
    REQUIRE(plan_fits(plan, {r}).ok());
    std::get<Passage>(plan.items[1]).close_up->first = {0.7, 0, 0.5, 0.5};
    const auto fits = plan_fits(plan, {r});
    REQUIRE_FALSE(fits.ok());
    CHECK(fits.failure().sentence == "Item 2 of the plan cannot be shown: a close-up window lies outside the picture, which goes from 0 to 1 both ways.");
}

TEST_CASE("An item is moved to any place, and the others keep their order") {
    const auto titles = [](const Plan& plan) {
        std::string out;
        for (const auto& item : plan.items) out += std::get<Card>(item).title;
        return out;
    };
    struct Row {
        std::size_t item, before;
        const char* order;
        std::size_t place;
    };
    const Row rows[] = {{0, 3, "bcade", 2}, {4, 0, "eabcd", 0}, {1, 5, "acdeb", 4}, {3, 1, "adbce", 1}, {2, 2, "abcde", 2}, {2, 3, "abcde", 2}, {1, 99, "acdeb", 4}};
    for (const auto& row : rows) {
        Plan plan;
        for (const char* t : {"a", "b", "c", "d", "e"}) plan.items.emplace_back(Card{Card::Role::note, t, {}, kSecond, "", {}});
        CHECK(move_item(plan, row.item, row.before) == row.place);
        CHECK(titles(plan) == row.order);
    }
}

TEST_CASE("A passage that is trimmed still makes a plan that can be read") {
    for (const auto& to : {span(61.25, 62), span(63, 70), span(71, 80)}) {
        Plan plan = full_plan();
        trim(std::get<Passage>(plan.items[1]), to);
        const auto back = plan_from_json(plan_to_json(plan));
        INFO(plan_to_json(plan));
        REQUIRE(back.ok());
        CHECK(std::get<Passage>(back->items[1]).span == to);
    }
}

TEST_CASE("The plan's schema lists the members that plans are written with, and no others") {
    const json schema = json::parse(std::ifstream(CANALOGUE_SOURCE_DIR "/docs/plan.schema.json"));
    const json plan = json::parse(plan_to_json(full_plan()));
    // Every object of the schema against those that stand in a full plan in its place.
    const auto resolved = [&](const json& s) { return s.contains("$ref") ? schema["definitions"]["close_up_window"] : s; };
    const std::function<void(const json&, const std::vector<json>&, const std::string&)> same = [&](const json& in_schema, const std::vector<json>& all, const std::string& where) {
        const json s = resolved(in_schema);
        INFO(where);
        if (all.empty() || (all[0].is_array() && s["items"].contains("oneOf"))) return;
        std::vector<json> below;
        if (all[0].is_array()) {
            for (const auto& list : all)
                for (const auto& each : list) below.push_back(each);
            return same(s["items"], below, where + "[]");
        }
        if (!all[0].is_object()) return;
        CHECK(s["additionalProperties"] == false);
        std::set<std::string> listed, there;
        for (const auto& [key, value] : s["properties"].items()) listed.insert(key);
        for (const auto& one : all)
            for (const auto& [key, value] : one.items()) there.insert(key);
        CHECK(listed == there);
        for (const auto& key : there) {
            below.clear();
            for (const auto& one : all)
                if (one.contains(key)) below.push_back(one[key]);
            if (s["properties"].contains(key)) same(s["properties"][key], below, where + "." + key);
        }
    };
    same(schema, {plan}, "plan");
    const json kinds = schema["properties"]["items"]["items"]["oneOf"];
    same(kinds[0], {plan["items"][0]}, "card");
    same(kinds[1], {plan["items"][1], plan["items"][2]}, "passage");
}

TEST_CASE("Only care and patient may identify, and only they carry a notice") {
    for (const char* name : {"care", "patient", "learners", "public"}) {
        auto a = audience_named(name);
        REQUIRE(a.ok());
        CHECK(name_of(*a) == name);
        const bool may = *a == Audience::care || *a == Audience::patient;
        CHECK(may_identify(*a) == may);
        CHECK(frame_notice(*a).empty() != may);
    }
    CHECK_FALSE(audience_named("everyone").ok());
    CHECK(teaching_caution().find("does not diagnose") != std::string::npos);
}
