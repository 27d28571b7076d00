#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

struct Session {
    Session() : program(folder / "library") {
        file = draw_recording(folder / "a.mkv", {});
        program.done("import --session s1 --ear right '" + file.string() + "'");
    }
    TempFolder folder;
    Program program;
    fs::path file;
};

std::vector<std::string> kinds(const json& events) {
    std::vector<std::string> out;
    for (const auto& e : events) out.push_back(e["kind"].get<std::string>() + "/" + e["ear"].get<std::string>());
    return out;
}

using Words = std::vector<std::string>;

}  // namespace

TEST_CASE("Tags are undone and redone, and a swapped side is one act") {
    Session s;
    s.program.done("tag s1 blockage-found --at 2 --set material='soft wax'");
    s.program.done("tag s1 drum-visible --at 5 --set clock=5");
    CHECK(kinds(s.program.parsed("events s1")) == Words{"blockage-found/right", "drum-visible/right"});
    s.program.done("undo s1");
    CHECK(kinds(s.program.parsed("events s1")) == Words{"blockage-found/right"});
    s.program.done("redo s1");
    s.program.done("side s1 --from 4 --until 8 --swap");
    CHECK(kinds(s.program.parsed("events s1")) == Words{"blockage-found/right", "drum-visible/left"});
    CHECK(s.program.parsed("show s1")["recordings"][0]["ears"].size() == 2);
    s.program.done("undo s1");
    CHECK(kinds(s.program.parsed("events s1")) == Words{"blockage-found/right", "drum-visible/right"});
    CHECK(s.program.parsed("show s1")["recordings"][0]["ears"].size() == 1);
    s.program.done("redo s1");
    CHECK(kinds(s.program.parsed("events s1")) == Words{"blockage-found/right", "drum-visible/left"});
    s.program.done("delete s1 e1");
    CHECK(kinds(s.program.parsed("events s1")) == Words{"drum-visible/left"});
    s.program.done("undo s1");
    CHECK(kinds(s.program.parsed("events s1")).size() == 2);
    CHECK(s.program.parsed("selfcheck")["chain_holds"] == true);
}

TEST_CASE("Only a named person with a reason uncovers") {
    Session s;
    s.program.done("cover s1 --box 40,30,200,40 --from 1 --until 3");
    const std::string before = s.program.parsed("suspects s1").dump();
    CHECK(s.program.refused(2, "decide s1 x1 --harmless").find("--reason") != std::string::npos);
    CHECK(s.program.refused(2, "decide s1 x1 --harmless --cover --reason 'both'").find("one thing") != std::string::npos);
    CHECK(s.program.parsed("suspects s1").dump() == before);
    s.program.done("decide s1 x1 --harmless --reason 'a scale'");
    const json after = s.program.parsed("suspects s1");
    CHECK(after[0]["decision"] == "harmless");
    CHECK(after[0]["reason"] == "a scale");
    CHECK(after[0]["by"] == "N. Example");
    s.program.done("undo s1");
    CHECK(s.program.parsed("suspects s1")[0]["decision"] == "cover");
}

TEST_CASE("'all' never stands in for watching what was not scanned") {
    Session s;
    const json open = s.program.parsed("suspects s1");
    REQUIRE_FALSE(open.empty());
    s.program.run("decide s1 all --harmless --reason 'looks fine'");
    CHECK(s.program.parsed("suspects s1").size() == open.size());
    s.program.done("decide s1 " + open[0]["id"].get<std::string>() + " --harmless --reason 'watched it'");
    CHECK(s.program.parsed("suspects s1").size() == open.size() - 1);
}

TEST_CASE("A full stop is no reason and a blank is no name, and 'all' leaves covers that somebody decided") {
    Session s;
    s.program.done("cover s1 --box 40,30,200,40 --from 1 --until 3");
    s.program.refused(2, "decide s1 x1 --harmless --reason .");
    s.program.refused(2, "decide s1 x1 --harmless --reason 'a scale' --by ' '");
    s.program.done("decide s1 all --harmless --reason 'looks fine'");
    CHECK(s.program.parsed("suspects s1")[0]["decision"] == "cover");
}

TEST_CASE("What cannot be opened is not called clean") {
    Session s;
    const fs::path noise = s.program.library().string() + "-noise.mp4";
    write_file(noise, std::string(3000, 'n'));
    s.program.refused(3, "check '" + noise.string() + "'");
}

TEST_CASE("A plan of one passage, without a card or an event, becomes a film with a poster") {
    Session s;
    const std::string base = s.program.library().string();
    write_file(base + "-plan.json", R"({"canalogue_plan":1,"items":[{"recording":"r1","ear":"right","from":"1","until":"2"}]})");
    s.program.done("render s1 --plan '" + base + "-plan.json' --out '" + base + "-out'");
    CHECK(fs::exists(base + "-out/poster.jpg"));
}

TEST_CASE("What is printed for programs has the documented fields") {
    Session s;
    s.program.done("tag s1 drum-visible --at 5 --set clock=5");
    s.program.done("scan s1 --json");
    s.program.done("cover s1 --box 40,30,200,40 --from 1 --until 3");
    const json suspects = s.program.parsed("suspects s1");
    REQUIRE(suspects.is_array());
    bool by_hand = false;
    for (const auto& x : suspects) {
        INFO(x);
        for (const char* field : {"id", "kind", "recording", "spotter", "decision"}) CHECK(x.at(field).is_string());
        for (const char* field : {"start", "end", "sureness"}) CHECK(x.at(field).is_number());
        CHECK(x["end"] > x["start"]);
        for (const auto& p : x.at("track"))
            for (const char* field : {"t", "x", "y", "w", "h"}) CHECK(p.at(field).is_number());
        by_hand = by_hand || (x["spotter"] == "by hand" && x["track"][0] == json{{"t", 1.0}, {"x", 40}, {"y", 30}, {"w", 200}, {"h", 40}});
    }
    CHECK(by_hand);
    for (const auto& e : s.program.parsed("events s1"))
        for (const char* field : {"id", "kind", "name", "ear", "at", "recording", "recording_at", "attributes", "note", "author", "origin"}) CHECK(e.contains(field));
    for (const auto& p : s.program.parsed("plugins"))
        for (const char* field : {"id", "name", "version", "available", "looks_for", "does_not_look_for"}) CHECK(p.contains(field));
    CHECK(s.program.parsed("vocab")["kinds"].size() > 20);
    CHECK(s.program.parsed("vocab drum-visible")["id"] == "drum-visible");
    CHECK(s.program.parsed("selfcheck")["chain_head"].get<std::string>().size() == 64);
    const json annotations = json::parse(s.program.done("events s1 --format jsonld"));
    CHECK(annotations[0]["type"] == "Annotation");
    CHECK(s.program.done("events s1 --format vtt").starts_with("WEBVTT\n"));
    CHECK(s.program.done("events s1 --format csv").find("\r\n") != std::string::npos);
}

TEST_CASE("The same content imported twice is recognised, whatever the file is called") {
    Session s;
    fs::copy_file(s.file, s.folder / "copy.mkv");
    const json again = s.program.parsed("import --session s1 --ear right '" + (s.folder / "copy.mkv").string() + "'");
    CHECK(again[0]["already_in"] == "s1");
    CHECK(s.program.parsed("show s1")["recordings"].size() == 1);
    const json elsewhere = s.program.parsed("import --session s2 --ear right '" + (s.folder / "copy.mkv").string() + "'");
    CHECK(elsewhere[0]["already_in"] == "s1");
    CHECK(elsewhere[0]["sha256"].get<std::string>() == run("sha256sum '" + s.file.string() + "'").substr(0, 64));
    CHECK(s.program.parsed("show s2")["recordings"].size() == 1);
}

TEST_CASE("The part of a file that is another patient's is out of reach") {
    TempFolder folder;
    const Program program(folder / "library");
    const std::string file = draw_recording(folder / "two patients.mkv", {}).string();
    program.done("import --session first --ear right --until 4 '" + file + "'");
    program.done("import --session second --ear left --from 4 '" + file + "'");
    const json second = program.parsed("show second")["recordings"][0];
    const double begins = second["session_start"].get<double>() + second["from"].get<double>();
    CHECK(second["from"] == 4.0);
    CHECK(program.parsed("show first")["recordings"][0]["until"] == 4.0);

    CHECK(program.refused(2, "tag first drum-visible --at 4.5").find("No recording of the session shows") != std::string::npos);
    CHECK(begins == 0.0);  // the second patient's session begins with the second patient
    CHECK(program.refused(2, "tag second drum-visible --at 4.5").find("No recording of the session shows") != std::string::npos);
    program.done("tag second drum-visible --at 0.5");
    CHECK(program.parsed("events second")[0]["recording_at"] == 4.5);
    // A plan written by hand does not get there either.
    write_short_plan(folder / "plan.json", "0:03", "0:05");
    CHECK(program.refused(2, "render first --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "x").string() + "'").find("beyond") != std::string::npos);
    CHECK_FALSE(fs::exists(folder / "x"));
    // A drafted one keeps inside by itself.
    program.done("tag first drum-visible --at 3.9");
    program.done("plan first --draft -o '" + (folder / "draft.json").string() + "'");
    const json draft = json::parse(read_file(folder / "draft.json"));
    for (const auto& item : draft["items"])
        if (item.contains("recording")) CHECK(item["until"] == "0:04");
}

TEST_CASE("An ear that does not fit what the recording shows is said at once") {
    Session s;
    s.program.done("tag s1 drum-visible --at 5 --ear left");
    CHECK(s.program.said().find("the recording shows the right ear") != std::string::npos);
    s.program.done("tag s1 drum-visible --at 5 --set clock=7");
    CHECK(s.program.said().find("left ear") != std::string::npos);
}

TEST_CASE("A confirmed record shows what was changed after it") {
    Session s;
    s.program.done("tag s1 drum-visible --at 5");
    CHECK(s.program.done("show s1").find("DRAFT") != std::string::npos);
    s.program.done("confirm s1 --by 'C. Confirmer'");
    CHECK(s.program.done("show s1").find("Confirmed by C. Confirmer") != std::string::npos);
    CHECK(s.program.done("show s1").find("Changed after") == std::string::npos);
    s.program.done("tag s1 bleeding --at 6");
    const std::string text = s.program.done("show s1");
    CHECK(text.find("Changed after it was confirmed") != std::string::npos);
    CHECK(text.find("tag bleeding") != std::string::npos);
}

TEST_CASE("Bytes that are no text are refused at the door, control characters do not reach the screen") {
    Session s;
    const std::string cafe = "caf\xE9";
    for (const std::string& command : {"tag s1 bleeding --at 2 --note '" + cafe + "'", "tag s1 referral --at 2 --set reason='" + cafe + "'", "tag s1 bleeding --at 2 --by '" + cafe + "'",
                                       "cover s1 --whole --from 1 --until 2 --reason '" + cafe + "'"})
        CHECK_FALSE(s.program.refused(2, command).empty());
    s.program.done("tag s1 bleeding --at 2 --note 'red\x1b[2J\nspot'");
    CHECK(s.program.parsed("events s1")[0]["note"] == "red [2J spot");
    CHECK(s.program.done("show s1").find('\x1b') == std::string::npos);
    // A file may have any name all the same.
    const fs::path odd = s.folder / ("caf\xE9.mkv");
    Drawn other;
    other.grain = 9;
    draw_recording(odd, other);
    s.program.done("import --session s2 --ear left '" + odd.string() + "'");
    s.program.done("scan s2");
    CHECK(s.program.parsed("selfcheck")["chain_holds"] == true);
}

TEST_CASE("A slip into the same session is recognised even when another session holds the content too") {
    Session s;
    s.program.done("import --session a-first --ear right '" + s.file.string() + "'");
    s.program.done("import --session s1 --ear right '" + s.file.string() + "'");
    CHECK(s.program.parsed("show s1")["recordings"].size() == 1);
}

TEST_CASE("A range decides the open suspects in it and no others") {
    Session s;
    for (int i = 0; i < 3; ++i) s.program.done("cover s1 --box " + std::to_string(40 + 100 * i) + ",30,60,40 --from 1 --until 3");
    s.program.done("scan s1");
    const json before = s.program.parsed("suspects s1");
    s.program.done("decide s1 x1..x99 --harmless --reason 'a test picture'");
    for (const auto& x : s.program.parsed("suspects s1")) {
        if (x["id"].get<std::string>().starts_with("u-")) continue;  // not scanned: decided by its own id alone
        const bool by_hand = x["spotter"] == "by hand";
        CHECK(x["decision"] == (by_hand ? "cover" : "harmless"));
    }
    CHECK(before.size() > 3);
}

TEST_CASE("A plan is looked over against its session, and an edited one is never overwritten") {
    Session s;
    s.program.done("tag s1 drum-visible --at 5");
    const fs::path plan = s.folder / "plan.json";
    s.program.done("plan s1 --draft -o '" + plan.string() + "'");
    CHECK(s.program.done("plan s1 --check '" + plan.string() + "'").find("fits the session") != std::string::npos);
    write_file(plan, R"({"canalogue_plan":1,"items":[{"recording":"r9","ear":"right","from":"1","until":"2"}]})");
    CHECK(s.program.refused(2, "plan s1 --check '" + plan.string() + "'").find("r9") != std::string::npos);
    s.program.done("plan s1 --draft -o '" + plan.string() + "'");
    CHECK(read_file(s.folder / "plan.before-1.json").find("r9") != std::string::npos);
}

TEST_CASE("With --json a program reads the trouble, too") {
    Session s;
    const json trouble = json::parse(s.program.run("suspects nobody --json").out);
    CHECK(trouble["exit_code"] == 2);
    CHECK(trouble["error"].get<std::string>().find("no session 'nobody'") != std::string::npos);
    CHECK(json::parse(s.program.run("suspects --json").out)["exit_code"] == 2);
}

TEST_CASE("A suspect is widened, split and given another span, each as an act that is taken back") {
    Session s;
    s.program.done("cover s1 --box 300,200,60,40 --from 1 --until 5");
    const auto x1 = [&] { return s.program.parsed("suspects s1")[0]; };
    const json before = x1();
    s.program.done("adjust s1 x1 --widen 10");
    CHECK(x1()["track"][0] == json{{"t", 1.0}, {"x", 290}, {"y", 190}, {"w", 80}, {"h", 60}});
    s.program.done("undo s1");
    CHECK(x1() == before);
    s.program.done("adjust s1 x1 --split 3");
    CHECK(x1()["end"] == 3.0);
    const json parts = s.program.parsed("suspects s1");
    const auto second = std::find_if(parts.begin(), parts.end(), [](const json& x) { return x["start"] == 3.0; });
    REQUIRE(second != parts.end());
    CHECK((*second)["end"] == 5.0);
    CHECK((*second)["decision"] == "cover");
    s.program.done("undo s1");
    s.program.done("adjust s1 x1 --from 2 --until 4");
    CHECK(x1()["start"] == 2.0);
    s.program.refused(2, "adjust s1 x1 --split 4.5");
    s.program.refused(2, "adjust s1 x1");
    s.program.refused(2, "adjust s1 x9 --widen 4");
    // What a spotter found is not made smaller or shorter.
    s.program.done("scan s1");
    for (const auto& x : s.program.parsed("suspects s1"))
        if (x["kind"] == "text" && x["spotter"] != "by hand") {
            s.program.refused(4, "adjust s1 " + x["id"].get<std::string>() + " --widen -4");
            s.program.refused(4, "adjust s1 " + x["id"].get<std::string>() + " --from 1 --until 2");
            break;
        }
}

TEST_CASE("A box is followed through the shot, and nothing is uncovered by losing it") {
    Session s;
    s.program.done("cover s1 --box 300,200,60,40 --from 1 --until 5");
    s.program.done("adjust s1 x1 --follow 1");
    const json x = s.program.parsed("suspects s1")[0];
    CHECK(x["track"].size() >= 1);
    CHECK(x["end"] == 5.0);
    // The drawn square stands still: so does the box.
    for (const auto& p : x["track"]) {
        CHECK(std::abs(p["x"].get<int>() - 300) <= 4);
        CHECK(std::abs(p["y"].get<int>() - 200) <= 4);
    }
}

TEST_CASE("A box is followed back to where it came into view, and put right where it went astray") {
    Session s;
    s.program.done("cover s1 --box 300,200,60,40 --from 4 --until 6");
    s.program.done("adjust s1 x1 --follow-back 4");
    json x = s.program.parsed("suspects s1")[0];
    CHECK(x["start"].get<double>() <= 4.0);
    CHECK(x["end"] == 6.0);
    // From its time on the box is where it was put; just before, both places are covered.
    s.program.done("adjust s1 x1 --box 340,230,60,40 --at 5");
    x = s.program.parsed("suspects s1")[0];
    const json last = x["track"].back();
    CHECK(last["t"] == 5.0);
    CHECK(last["x"] == 340);
    for (const auto& p : x["track"])
        if (p["t"] > 4.9 && p["t"] < 5.0) {
            CHECK(p["x"].get<int>() <= 304);
            CHECK(p["x"].get<int>() + p["w"].get<int>() >= 396);
        }
    s.program.refused(2, "adjust s1 x1 --box 340,230,60,40");
    s.program.refused(2, "adjust s1 x1 --box 340,230,9000,40 --at 5");
    s.program.refused(2, "adjust s1 x1 --box 340,230,60,40 --at 7");
    s.program.done("undo s1");
    CHECK(s.program.parsed("suspects s1")[0]["track"].back()["x"] != 340);
}

TEST_CASE("A plan is kept with its session, and is what a render takes when none is named") {
    Session s;
    s.program.refused(2, "plan s1");
    s.program.done("tag s1 drum-visible --at 5");
    const json drafted = json::parse(s.program.done("plan s1 --draft --keep"));
    CHECK(json::parse(s.program.done("plan s1")) == drafted);
    s.program.done("plan s1 -o '" + (s.folder / "kept.json").string() + "'");
    CHECK(json::parse(read_file(s.folder / "kept.json")) == drafted);
    s.program.refused(2, "plan s1 --draft --check '" + (s.folder / "kept.json").string() + "'");
    s.program.done("undo s1");
    s.program.refused(2, "plan s1");
    CHECK(s.program.refused(2, "render s1 --out '" + (s.folder / "x").string() + "'").find("No plan is kept") != std::string::npos);
}

TEST_CASE("Nobody has watched a session that was only scanned") {
    Session s;
    const json unseen = s.program.parsed("seen s1");
    REQUIRE(unseen.size() == 1);
    CHECK(unseen[0]["start"] == 0.0);
    CHECK(unseen[0]["end"] == 8.0);
}

TEST_CASE("An empty name is no name, and a change that changes nothing is no act") {
    Session s;
    s.program.done("tag s1 drum-visible --at 5");
    s.program.refused(2, "confirm s1 --by ''");
    CHECK(s.program.done("show s1").find("DRAFT") != std::string::npos);
    s.program.refused(2, "change s1 e1");
    s.program.done("undo s1");
    CHECK(s.program.parsed("events s1").empty());
}

TEST_CASE("What lies under a decided cover need not be decided, and is open again when the cover goes") {
    Session s;
    s.program.done("scan s1");
    const auto text = [&] {
        for (const auto& x : s.program.parsed("suspects s1"))
            if (x["kind"] == "text") return x;
        FAIL("no text is suspected");
        return json();
    };
    const auto state = [&] { return text()["under_a_cover"].get<bool>(); };
    CHECK_FALSE(state());
    s.program.done("cover s1 --whole --from 0 --until 8");
    CHECK(state());
    CHECK(s.program.done("suspects s1").find("under a cover") != std::string::npos);
    s.program.done("decide s1 all --harmless --reason 'a device label'");  // it is none of "all"
    CHECK(text()["decision"] == "open");
    const std::string was = s.program.done("undo s1");
    if (was.find("cover") == std::string::npos) s.program.done("undo s1");
    CHECK_FALSE(state());
}

TEST_CASE("Sessions are found by their words, by ear and by kind of event") {
    Session s;
    s.program.done("tag s1 blockage-found --at 2 --set material='hard wax'");
    const auto found = [&](const std::string& by) { return s.program.parsed("find " + by).size(); };
    CHECK(found("") == 1);
    CHECK(found("'hard wax'") == 1);
    CHECK(found("'hard bone'") == 0);
    CHECK(found("--ear left") == 0);
    CHECK(found("wax --ear right --kind blockage-found") == 1);
    CHECK(found("--kind referral") == 0);
    s.program.refused(2, "find --ear both");
}
