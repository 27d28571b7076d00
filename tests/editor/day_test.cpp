// A working day in a real window: what three people do with the editor, by key and mouse.
#include <catch2/catch.hpp>
#include <chrono>
#include <thread>

#include "app/desk/desk.hpp"
#include "app/desk/tagging.hpp"
#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue::test;
using canalogue::Origin;

namespace {

// A library in which somebody works already.
struct Place {
    explicit Place(const std::string& session = "s1") : program(folder / "library") {
        file = draw_recording(folder / "right.mkv", {});
        if (!session.empty()) program.done("import --session " + session + " --ear right '" + file.string() + "'");
        else fs::create_directories(folder / "library");
        write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
    }
    std::vector<std::string> kinds() const {
        std::vector<std::string> out;
        for (const auto& e : program.parsed("events s1")) out.push_back(e["kind"]);
        return out;
    }
    TempFolder folder;
    Program program;
    fs::path file;
};

}  // namespace

TEST_CASE("The first start asks who works here, and then the window is ready") {
    TempFolder folder;
    const VirtualDisplay display;
    EditorWindow window(display, folder / "library");
    window.wait_for("author");
    CHECK(window.state("start") == "off");
    window.fill("author", "N. Example");
    window.fill("new passphrase", "a test passphrase");
    window.fill("passphrase again", "a test passphrase");
    window.click("start");
    window.wait_for("tour next");
    for (int step = 0; step < 6; ++step) window.click("tour next");
    window.wait_for("new session");
    CHECK_FALSE(window.there("tour next"));
    CHECK(json::parse(read_file(folder / "library/settings.json"))["author"] == "N. Example");
}

TEST_CASE("A recording is imported in the window and can be played at once") {
    const Place place("");
    const VirtualDisplay display;
    EditorWindow window(display, place.program.library());
    window.click("new session");
    window.fill("import file", place.file.string());
    window.key("Return");
    window.fill("import name", "s1");
    window.click("import right");
    window.click("import");
    window.wait_for("side", 30);
    CHECK(window.state("side") == "RIGHT EAR");
    window.wait_idle();
    window.wait_state("picture", "r1 0");
    window.key("Right");
    window.wait_state("picture", "r1 1");
    window.key("Right");
    window.key("Left");
    window.wait_state("picture", "r1 1");
    window.key("space");
    window.wait_state_changed("picture", "r1 1");
    window.key("space");
    CHECK(place.program.parsed("show s1")["recordings"].size() == 1);
}

TEST_CASE("Events are placed by their keys while the film runs, changed, taken back, accepted") {
    const Place place;
    const VirtualDisplay display;
    EditorWindow window(display, place.program.library(), "s1");
    window.wait_idle();
    window.key("space");
    for (const char* key : {"1", "2", "6", "6", "3", "7"}) window.key(key);
    window.key("space");
    CHECK(place.kinds() == std::vector<std::string>{"blockage-found", "instrument-in", "piece-removed", "piece-removed", "instrument-out", "drum-visible"});
    // The last one is chosen: what was seen, and where.
    window.click("set view all");
    window.wait_state("set view all", "on");
    window.click("clock 5");
    window.wait_state("clock 5", "on");
    const json drum = place.program.parsed("events s1")[5];
    CHECK(drum["attributes"]["view"] == "all");
    CHECK(drum["attributes"]["clock"] == "5");
    window.key("ctrl+z");
    window.wait_state("clock 5", "");
    CHECK_FALSE(place.program.parsed("events s1")[5]["attributes"].contains("clock"));
    window.key("ctrl+y");
    window.wait_state("clock 5", "on");
    // A suggestion counts for nothing until it is accepted.
    {
        auto desk = canalogue::desk::Desk::open(place.program.library(), "gauge");
        canalogue::Event e;
        e.id = *desk->library.next_id("s1", "e"), e.kind = "scope-out", e.recording = "r1", e.at = {7'000'000'000}, e.origin = Origin::suggestion;
        REQUIRE(desk->library.commit({"s1", "suggest", "gauge", {canalogue::store::put(e)}, false}).ok());
    }
    window.click("page Record");
    window.key("ctrl+z");  // any act reads the session again
    window.click("page Events");
    window.click("event e7");
    window.click("accept");
    CHECK(place.program.parsed("events s1").back()["origin"] == "person");
    window.click("page Record");
    CHECK(window.state("record").find("Drum visible") != std::string::npos);
}

TEST_CASE("Suspects are decided by their keys, a box is drawn and followed, and what was watched is remembered") {
    const Place place;
    place.program.done("scan s1");
    for (int i = 0; i < 2; ++i) place.program.done("cover s1 --box " + std::to_string(300 + 40 * i) + ",200,30,30 --from 1 --until 3");
    const VirtualDisplay display;
    EditorWindow window(display, place.program.library(), "s1");
    window.key("F3");
    window.wait_for("queue tools");
    window.click("all suspects");
    const json before = place.program.parsed("suspects s1");
    REQUIRE(before.size() >= 3);
    const auto decision = [&](const std::string& id) {
        for (const auto& s : place.program.parsed("suspects s1"))
            if (s["id"] == id) return s["decision"].get<std::string>();
        return std::string();
    };
    const std::string first = before[0]["id"], second = before[1]["id"], third = before[2]["id"];
    window.click("suspect " + first);
    window.key("c");
    CHECK(decision(first) == "cover");
    window.click("suspect " + second);
    window.key("h");  // without a reason: refused, and said where one looks
    window.wait_for("complaint");
    CHECK(decision(second) != "harmless");
    window.fill("reason", "a test pattern");
    window.key("Return");
    window.click("harmless");
    CHECK(decision(second) == "harmless");
    window.click("suspect " + third);
    window.click("cover");
    CHECK(decision(third) == "cover");
    // A box is drawn on the picture and followed through the shot.
    window.key("Home");
    window.key("b");
    const json picture = window.wait_for("picture");
    const double x = picture["x"].get<double>() + picture["w"].get<double>() * 0.45, y = picture["y"].get<double>() + picture["h"].get<double>() * 0.5;
    window.drag(x, y, x + 120, y + 90);
    const json drawn = place.program.parsed("suspects s1").back();
    CHECK(drawn["spotter"] == "by hand");
    CHECK(drawn["track"].size() == 1);
    window.key("f");
    window.wait_idle();
    CHECK(place.program.parsed("suspects s1").back()["track"].size() > 50);
    // Put right at another frame: from there on it is where it was drawn.
    window.key("Home");
    for (int i = 0; i < 10; ++i) window.key("Right");
    window.key("k");
    window.drag(x + 60, y + 40, x + 180, y + 130);
    window.wait_idle();
    const json right = place.program.parsed("suspects s1").back();
    CHECK(right["id"] == drawn["id"]);
    CHECK(right["track"].size() < 50);
    CHECK(right["track"].back()["x"] > drawn["track"].back()["x"]);
    window.key("ctrl+z");
    window.key("Home");
    // Watching in the public look is remembered; jumping about is not.
    window.click("look Covered");
    window.key("Home");
    window.key("End");
    CHECK(window.state("watched") == "0");
    window.key("Home");
    window.key("space");
    window.wait_state("play", "");
    window.wait_state_changed("watched", "0", 20);
    window.key("space");
    CHECK(place.program.parsed("seen s1").size() >= 1);
}

TEST_CASE("A clip is drafted, previewed, made and found in the library") {
    const Place place;
    place.program.done("tag s1 blockage-found --at 2 --set material='hard wax'");
    place.program.done("tag s1 drum-visible --at 5 --set view=all");
    for (const char* spotter : {"burnt_text", "file_fields"}) place.program.run("decide s1 u-r1-" + std::string(spotter) + "-0:00 --harmless --reason 'a test pattern, watched'");
    const VirtualDisplay display;
    EditorWindow window(display, place.program.library(), "s1");
    window.key("F4");
    window.click("draft");
    window.wait_for("item 1");
    window.wait_for("film length", 30);
    window.click("item 1");
    window.wait_state("item 1", "on");
    window.click("pace 2");
    window.wait_state("pace 2", "on");
    window.key("v");
    window.wait_for("film", 30);
    const std::string early = window.state("film");
    window.wait_state_changed("film", early);
    window.key("v");
    window.wait_for("picture");
    window.click("rendering");
    window.fill("out", (place.folder / "film").string());
    window.click("render");
    window.wait_for("result", 180);
    CHECK(fs::exists(place.folder / "film/clip.mp4"));
    CHECK(json::parse(read_file(place.folder / "film/check.json"))["passed"] == true);
    // It becomes a case of a teaching set; what is none is refused with the reason.
    window.click("film set");
    window.click("set this film");
    window.wait_state("set film 0", (place.folder / "film").string());
    window.fill("set title", "Ears, week 1");
    window.fill("set folder", (place.folder / "course").string());
    window.click("make set");
    window.wait_for("news");
    CHECK(read_file(place.folder / "course/index.html").find("Ears, week 1") != std::string::npos);
    window.fill("set typed", place.folder.path().string());
    window.click("set add");
    window.wait_for("set film 1");
    window.click("make set");
    window.wait_for("complaint");
    CHECK(window.state("complaint").find("is no finished export") != std::string::npos);
    window.key("F5");
    window.wait_state("still 0", "shown", 30);
    window.fill("search", "hard wax drum");
    window.wait_for("session s1");
    window.fill("search", "perforation");
    CHECK_FALSE(window.there("session s1"));
}

TEST_CASE("A window at rest is hardly drawn, and wakes for every question and key") {
    const Place place;
    const VirtualDisplay display;
    EditorWindow window(display, place.program.library(), "s1");
    window.wait_idle();
    const auto drawn = [&] { return window.ask("frames")["frames"].get<int>(); };
    const int before = drawn();
    std::this_thread::sleep_for(std::chrono::seconds(3));
    // Twice a second, for what changes by itself; and for the question.
    CHECK(drawn() - before < 20);
    const int asked = drawn();
    for (int i = 0; i < 50; ++i) CHECK(window.there("play"));
    CHECK(drawn() > asked + 25);
    window.key("F1");
    window.wait_for("key list");
}

TEST_CASE("How loud the film is heard is set by key and by mouse, and remembered") {
    const Place place;
    const VirtualDisplay display;
    const auto kept = [&] { return json::parse(read_file(place.folder / "library/settings.json")); };
    {
        EditorWindow window(display, place.program.library(), "s1");
        window.wait_state("volume", "100");
        window.key("F7");
        window.wait_state("volume", "90");
        window.key("F6");
        window.wait_state("mute", "on");
        CHECK(kept()["muted"] == true);
        // Louder is meant to be heard.
        window.key("F8");
        window.wait_state("volume", "100");
        window.wait_state("mute", "");
        const json bar = window.find("volume");
        const double y = bar["y"].get<double>() + bar["h"].get<double>() / 2, x = bar["x"], w = bar["w"];
        window.drag(x + w * 0.9, y, x + w / 2, y);
        window.wait_state("volume", "50");
        CHECK(kept()["volume"].get<double>() == Approx(0.5).margin(0.02));
        window.click("mute");
        window.wait_state("mute", "on");
        CHECK(kept()["author"] == "N. Example");
        CHECK(place.kinds().empty());
        window.close();
    }
    EditorWindow again(display, place.program.library(), "s1");
    again.wait_state("volume", "50");
    again.wait_state("mute", "on");
}

TEST_CASE("A recording whose file has moved says so and is found again by its content") {
    const Place place;
    fs::rename(place.file, place.folder / "elsewhere.mkv");
    const VirtualDisplay display;
    EditorWindow window(display, place.program.library(), "s1");
    window.wait_for("find path");
    CHECK(window.state("duty") == "Find the recording again");
    window.fill("find path", (place.folder / "elsewhere.mkv").string());
    window.key("Return");
    window.click("find again");
    window.wait_state("picture", "r1 0", 30);
    CHECK_FALSE(window.there("find path"));
}
