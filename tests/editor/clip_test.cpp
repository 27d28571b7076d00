// The educator's hands on a plan: the close-up on the picture, cards dragged about, passages trimmed on the
// time map. Whatever they do is one act that can be taken back.
#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"
#include "tests/editor/sound_server.hpp"

using namespace canalogue::test;

namespace {

// A session with a kept plan of a card, two passages and a card.
struct Place {
    Place() : program(folder / "library") {
        program.done("import --session s1 --ear right '" + draw_recording(folder / "right.mkv", {}).string() + "'");
        write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
        write_file(folder / "plan.json", R"({"canalogue_plan":1,"title":"Short","items":[
            {"card":"title","title":"One","length":"0:02"},
            {"recording":"r1","ear":"right","from":"0:01","until":"0:03","chapter":"Two"},
            {"recording":"r1","ear":"right","from":"0:04","until":"0:06","chapter":"Three","holds":[{"at":"0:05","length":"0:02"}]},
            {"card":"end","title":"Four","length":"0:02"}]})");
        program.done("plan s1 --check '" + (folder / "plan.json").string() + "' --keep");
    }
    json plan() const { return json::parse(program.done("plan s1")); }
    json close_up() const { return plan()["items"][1].value("close_up", json()); }
    std::string order() const {
        std::string out;
        const json now = plan();
        for (const auto& item : now["items"]) out += item.value("title", item.value("chapter", "")) + " ";
        return out;
    }
    double time(int item, const char* which) const { return seconds(plan()["items"][item][which]); }
    static double seconds(const std::string& text) { return std::stod(text.substr(text.find(':') + 1)); }
    TempFolder folder;
    Program program;
};

struct OnScreen {
    double x, y, w, h;
};

// The window on the clip desk; `item` chosen.
struct ClipDeskWindow : EditorWindow {
    ClipDeskWindow(const VirtualDisplay& display, const Place& place, const std::string& item, const std::string& size = "1366x768")
        : EditorWindow(display, place.program.library(), "s1", size) {
        wait_idle();
        key("F4");
        if (!item.empty()) {
            click(item);
            wait_state(item, "on");
        }
        wait_idle();
    }
    OnScreen window() {
        const json at = wait_for("close-up window");
        return {at["x"], at["y"], at["w"], at["h"]};
    }
};

}  // namespace

TEST_CASE("A close-up is drawn on the picture, moved, sized and sent to a second place by mouse and by key, each act one to take back") {
    const Place place;
    const VirtualDisplay display;
    ClipDeskWindow window(display, place, "item 1");
    window.key("c");
    OnScreen box = window.window();
    CHECK(place.close_up()["from"] == json({{"x", 0.25}, {"y", 0.25}, {"width", 0.5}, {"height", 0.5}}));

    SECTION("with the mouse") {
        // Its inside moves it.
        window.drag(box.x + box.w / 2, box.y + box.h / 2, box.x + box.w / 2 + box.w / 4, box.y + box.h / 2);
        json from = place.close_up()["from"];
        CHECK(from["x"].get<double>() == Approx(0.375).margin(0.01));
        CHECK(from["y"].get<double>() == Approx(0.25).margin(0.01));
        CHECK(from["width"] == 0.5);
        window.key("ctrl+z");
        window.wait_state("close-up window", "0.250 0.250 0.500");
        CHECK(place.close_up()["from"]["x"] == 0.25);
        // A corner sizes it, the opposite one stays; the shape stays the picture's.
        window.drag(box.x + box.w, box.y + box.h, box.x + box.w / 2, box.y + box.h * 0.6);
        from = place.close_up()["from"];
        CHECK(from["x"].get<double>() == Approx(0.25).margin(0.01));
        CHECK(from["y"].get<double>() == Approx(0.25).margin(0.01));
        CHECK(from["width"].get<double>() == Approx(0.3).margin(0.015));
        CHECK(from["height"] == from["width"]);
        // Beside it, a new one is drawn; never smaller than a sixth.
        box = window.window();
        window.drag(box.x + box.w * 2, box.y + box.h * 1.6, box.x + box.w * 2 + 12, box.y + box.h * 1.6 + 9);
        CHECK(place.close_up()["from"]["width"].get<double>() == Approx(1.0 / 6).margin(0.001));
        CHECK(place.close_up()["from"]["x"].get<double>() == Approx(0.85).margin(0.03));
        // A click alone changes nothing.
        const json before = place.close_up();
        box = window.window();
        window.click_at(box.x + box.w / 2, box.y + box.h / 2);
        CHECK(place.close_up() == before);
    }
    SECTION("with keys alone") {
        const std::string shown = window.state("picture");
        window.key("Right");
        window.wait_state("close-up window", "0.260 0.250 0.500");
        window.key("Down");
        window.wait_state("close-up window", "0.260 0.260 0.500");
        CHECK(window.state("picture") == shown);  // the arrows are the window's now
        window.key("shift+Left");
        window.wait_state_changed("close-up window", "0.260 0.260 0.500");
        CHECK(place.close_up()["from"]["width"].get<double>() < 0.48);
        for (int i = 0; i < 3; ++i) window.key("ctrl+z");
        window.wait_state("close-up window", "0.250 0.250 0.500");
        window.key("Escape");
        CHECK_FALSE(window.there("close-up window"));
        window.key("Right");  // and now the picture's again
        window.wait_state_changed("picture", shown);
        CHECK(place.close_up()["from"]["x"] == 0.25);
    }
    SECTION("with a second place") {
        window.click("close-up ends");
        CHECK(window.state("close-up ends") == "on");
        box = window.window();
        window.drag(box.x, box.y, box.x + box.w / 2, box.y + box.h / 2);
        json c = place.close_up();
        CHECK(c["from"]["width"] == 0.5);
        CHECK(c["until"]["width"].get<double>() == Approx(0.25).margin(0.01));
        CHECK(c["until"]["x"].get<double>() == Approx(0.5).margin(0.01));
        // The film stands where the position being placed is seen: at the passage's end.
        CHECK(std::stod(window.state("clock")) / 1e9 == Approx(2.96).margin(0.05));
        window.click("close-up begins");
        window.wait_state("close-up window", "0.250 0.250 0.500");
        CHECK(std::stod(window.state("clock")) / 1e9 == Approx(1).margin(0.05));
        window.key("Escape");
        for (int i = 0; i < 10; ++i) window.key("Right");
        window.key("c");
        window.click("close-up moves from");
        CHECK(Place::seconds(place.close_up()["moving"]["from"]) == Approx(1.4).margin(0.05));
        CHECK(Place::seconds(place.close_up()["moving"]["until"]) == 3);
        window.click("close-up stays");
        CHECK_FALSE(place.close_up().contains("until"));
        CHECK_FALSE(place.close_up().contains("moving"));
        window.click("no close-up");
        CHECK(place.close_up().is_null());
        CHECK_FALSE(window.there("close-up window"));
        window.key("ctrl+z");
        window.wait_for("no close-up");
        CHECK_FALSE(place.close_up().is_null());
    }
}

TEST_CASE("A card is dragged to any place, with a line that shows where it goes, as one act") {
    const Place place;
    const VirtualDisplay display;
    ClipDeskWindow window(display, place, "");
    REQUIRE(place.order() == "One Two Three Four ");
    const json first = window.wait_for("item 0"), third = window.wait_for("item 2");
    const auto middle = [](const json& at) { return std::pair(at["x"].get<double>() + 150, at["y"].get<double>() + at["h"].get<double>() / 2); };
    const auto [x, y] = middle(first);
    const auto [x2, y2] = middle(third);
    window.press_at(x, y);
    window.move_to(x, (y + y2) / 2);
    window.move_to(x2, y2 + 15);
    CHECK(window.state("card goes") == "3");
    CHECK(place.order() == "One Two Three Four ");  // not before the hand lets go
    window.release();
    window.wait_state("item 2", "on");
    CHECK(place.order() == "Two Three One Four ");
    CHECK_FALSE(window.there("card goes"));
    window.key("ctrl+z");
    CHECK(place.order() == "One Two Three Four ");
    // Up as well, to the very first place.
    window.drag(x2, y2, x, y - 25);
    window.wait_state("item 0", "on");
    CHECK(place.order() == "Three One Two Four ");
    // Let go where it was, or with Esc: nothing is done.
    window.press_at(x, y);
    window.move_to(x2, y2);
    window.move_to(x2, y2 + 15);
    window.key("Escape");
    window.release();
    CHECK(place.order() == "Three One Two Four ");
    // And by key.
    window.key("ctrl+Down");
    window.wait_state("item 1", "on");
    window.key("j");
    window.wait_state("item 2", "on");
    CHECK(place.order() == "One Two Three Four ");
    window.key("ctrl+Up");
    window.wait_state("item 1", "on");
    CHECK(place.order() == "One Three Two Four ");
}

TEST_CASE("The ends of a passage are dragged on the time map while the picture shows the frame at that end") {
    const Place place;
    const VirtualDisplay display;
    ClipDeskWindow window(display, place, "item 2");
    const json map = window.wait_for("time map");
    const double left = map["x"], width = map["w"], y = map["y"].get<double>() + map["h"].get<double>() - 8 - 11;
    const auto x_of = [&](double seconds) { return left + width * seconds / 8; };
    // The end, from 6 s to 4.6 s: the hold at 5 s goes with it.
    window.press_at(x_of(6) - 1, y);
    window.move_to(x_of(5.5), y);
    window.move_to(x_of(4.6), y);
    window.wait_idle();
    const std::string early = window.state("picture");
    CHECK(std::stod(early.substr(3)) == Approx(4.6 * 25).margin(2.5));  // the frame at the end, while it is dragged
    CHECK(place.time(2, "until") == 6);
    window.move_to(x_of(5.4), y);
    window.move_to(x_of(5.4), y);
    window.wait_state_changed("picture", early);
    window.release();
    CHECK(place.time(2, "until") == Approx(5.4).margin(0.06));
    // A hold that was cut off on the way is back.
    REQUIRE(place.plan()["items"][2]["holds"].size() == 1);
    window.key("ctrl+z");
    CHECK(place.time(2, "until") == 6);
    // The beginning.
    window.wait_idle();
    window.drag(x_of(4) + 1, y, x_of(5.2), y);
    CHECK(place.time(2, "from") == Approx(5.2).margin(0.06));
    CHECK(place.plan()["items"][2]["holds"].empty());
    // And by key: it ends with the frame that is shown.
    for (int i = 0; i < 5; ++i) window.key("Right");
    window.key("bracketright");
    CHECK(place.time(2, "until") == Approx(5.4).margin(0.06));
    window.key("Delete");
    CHECK(place.order() == "One Two Four ");
}

TEST_CASE("Each card tells how long its voice needs and what the picture does, and asks for less where that is too much") {
    const Place place;
    json plan = place.plan();
    const std::string sentence = "The canal is wide and the drum can be seen in all of its parts. ";
    plan["items"][1]["narration"] = {"Short."};
    plan["items"][2]["narration"] = {sentence + sentence + sentence + sentence + sentence};
    write_file(place.folder / "long.json", plan.dump());
    place.program.done("plan s1 --check '" + (place.folder / "long.json").string() + "' --keep");
    const VirtualDisplay display;
    ClipDeskWindow window(display, place, "");
    window.wait_for("film length", 30);
    CHECK(window.state("voice 0") == "no voice");
    CHECK(window.state("voice 1").find("voice 1.") == 0);
    CHECK(window.state("voice 1").find("fits") != std::string::npos);
    const std::string asked = window.state("voice 2");
    INFO(asked);
    const auto say = asked.find(": shorten by ");
    REQUIRE(say != std::string::npos);
    const double needs = std::stod(asked.substr(6)), shorter = std::stod(asked.substr(say + 13));
    // 2 s at half the pace, a hold of 2 s, and 4 s of standing at most.
    CHECK(needs - shorter == Approx(4 + 2 + 4).margin(0.25));
}

TEST_CASE("Words that could tell who the patient is are marked where they are typed, sealed names once the library is unlocked") {
    const Place place;
    write_file(place.folder / "pass.txt", "sand and shells\n");
    place.program.done("known s1 'Thirza Quennelle' --passphrase-file '" + (place.folder / "pass.txt").string() + "'");
    const VirtualDisplay display;
    ClipDeskWindow window(display, place, "item 0");
    window.fill("new line", "She was born on 3 May 1962.");
    window.wait_for("words tell");
    CHECK(window.state("words tell").find("date") != std::string::npos);
    window.fill("new line", "Mrs Quennelle hears well.");
    window.wait_idle();
    CHECK_FALSE(window.there("words tell"));
    window.key("F3");
    window.fill("passphrase", "sand and shells");
    window.key("Return");
    window.wait_for("known name");
    window.key("F4");
    window.click("item 0");
    window.fill("new line", "Mrs Quennelle hears well.");
    window.wait_for("words tell");
    CHECK(window.state("words tell").find("known identifier") != std::string::npos);
}

TEST_CASE("A line is recorded at the microphone, more than once, and the take that is chosen says it") {
    SoundServer server;
    const Place place;
    const VirtualDisplay display("1366x1200");
    ClipDeskWindow window(display, place, "item 0", "1366x1200");
    const auto line = [&] { return place.plan()["items"][0]["narration"][0]; };
    window.fill("new line", "The canal is clear.");
    window.key("Return");
    window.wait_for("record 0");
    CHECK(line() == "The canal is clear.");

    const Child voice("sh -c 'ffmpeg -v error -f lavfi -i sine=f=300:r=48000 -f s16le -ac 1 - | pacat --raw --format=s16le --rate=48000 --channels=1'");
    const auto record = [&] {
        window.click("record 0");
        window.wait_for("recording");
        CHECK_FALSE(window.there("take done"));  // it counts in
        window.wait_for("take done");
        window.wait_state("recording", "Recording 0:01");
        CHECK(window.state("level").find("good") != std::string::npos);
        window.click("take done");
        window.wait_for("record 0");
    };
    record();
    CHECK(line() == json({{"says", "The canal is clear."}, {"take", "t1"}}));
    record();
    CHECK(line()["take"] == "t2");
    const json takes = place.program.parsed("takes s1");
    REQUIRE(takes.size() == 2);
    CHECK(takes[0]["seconds"].get<double>() == Approx(1.5).margin(0.9));

    window.click("take t1 0");
    CHECK(line()["take"] == "t1");
    window.click("draft voice 0");
    CHECK(line() == "The canal is clear.");
    // Thrown away, nothing is kept.
    window.click("record 0");
    window.wait_for("recording");
    window.key("Escape");
    window.wait_for("record 0");
    CHECK(place.program.parsed("takes s1").size() == 2);
}
