// What goes with a film beside its plan's items, by hand at the Clip desk: captions in another language, a make-up, a draft
// in the plan's place, the spot of a question. Each act is one to take back.
#include <catch2/catch.hpp>

#include <signal.h>
#include <unistd.h>

#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue::test;

namespace {

struct Place {
    Place() : program(folder / "library") {
        program.done("import --session s1 --ear right '" + draw_recording(folder / "right.mkv", {}).string() + "'");
        program.done("tag s1 drum-visible --at 0:03");
        // A plain ground passes for no ear, and a draft shows nothing that is wholly covered.
        for (const char* spotter : {"burnt_text", "file_fields", "outside", "faces", "speech"}) program.run("decide s1 u-r1-" + std::string(spotter) + "-0:00 --harmless --reason 'drawn for a test'");
        write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
        write_file(folder / "plan.json", R"({"canalogue_plan":1,"title":"Short","items":[
            {"card":"title","title":"One","length":"0:01"},
            {"recording":"r1","ear":"right","from":"0:02","until":"0:03","chapter":"Two"}]})");
        program.done("plan s1 --check '" + (folder / "plan.json").string() + "' --keep");
        write_file(folder / "cymraeg.vtt", "WEBVTT\n\n00:00.200 --> 00:01.500\nMae'r glust yn glir.\n");
    }
    json plan() const { return json::parse(program.done("plan s1")); }
    std::string at(const std::string& name) const { return (folder / name).string(); }
    TempFolder folder;
    Program program;
};

// At the Clip desk, the render row shown or an item chosen.
struct FilmWindow : EditorWindow {
    FilmWindow(const VirtualDisplay& display, const Place& place, const std::string& press) : EditorWindow(display, place.program.library(), "s1", "1920x1080") {
        wait_idle();
        key("F4");
        wait_for(press);
        click(press);
        wait_state(press, "on");
        wait_idle();
    }
};

}  // namespace

TEST_CASE("Captions in another language are added with their file, listed, taken away and brought back, and go with the film") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    FilmWindow window(display, place, "rendering");
    const auto add = [&](const std::string& language, const std::string& file) {
        window.fill("captions language", language);
        window.fill("captions file", file);
        window.click("add captions");
    };
    add("cy", place.at("nowhere.vtt"));
    window.wait_for("complaint");
    CHECK(window.state("complaint").find("nowhere.vtt") != std::string::npos);  // which file it is
    add("en-gb", place.at("cymraeg.vtt"));
    window.wait_idle();
    CHECK(window.state("complaint").find("The film itself is in 'en-GB'") != std::string::npos);
    CHECK_FALSE(window.there("captions cy"));
    add("cy", place.at("cymraeg.vtt"));
    window.wait_state("captions cy", place.at("cymraeg.vtt"));
    add("cy", place.at("cymraeg.vtt"));
    window.wait_for("complaint");
    CHECK(window.state("complaint").find("twice") != std::string::npos);
    window.click("no captions cy");
    window.wait_for("captions language");
    window.wait_idle();
    CHECK_FALSE(window.there("captions cy"));
    window.key("Escape");
    window.wait_state("keyboard", "");
    window.key("ctrl+z");
    window.wait_for("captions cy");
    window.fill("out", place.at("film"));
    window.key("Return");
    window.click("render");
    window.wait_for("result", 120);
    CHECK(read_file(place.folder / "film/clip.cy.vtt").find("Mae'r glust yn glir.") != std::string::npos);
}

TEST_CASE("A film's make-up is kept in a file and used for another film, as one act to take back") {
    const Place place;
    json made = place.plan();
    made["film"]["size"] = "1080x1080";
    made["about"] = {{"made_by", "Harbour clinic"}};
    made["items"].insert(made["items"].begin(), json::object({{"card", "warning"}, {"title", "A little blood is seen"}, {"length", "0:03"}}));
    write_file(place.folder / "made.json", made.dump());
    const json plain = place.plan();
    place.program.done("plan s1 --check '" + place.at("made.json") + "' --keep");
    const VirtualDisplay display("1920x1080");
    {
        FilmWindow window(display, place, "rendering");
        window.fill("make-up file", place.at("make-up.json"));
        window.key("Tab");
        window.click("keep make-up");
        window.wait_for("news");
    }
    CHECK(json::parse(read_file(place.folder / "make-up.json"))["about"]["made_by"] == "Harbour clinic");
    // Another film, as it was before.
    place.program.done("plan s1 --check '" + place.at("plan.json") + "' --keep");
    REQUIRE(place.plan() == plain);
    FilmWindow window(display, place, "rendering");
    window.fill("make-up file", place.at("make-up.json"));
    window.key("Tab");
    window.click("use make-up");
    window.wait_state("1080x1080", "on");
    CHECK(place.plan()["about"]["made_by"] == "Harbour clinic");
    CHECK(place.plan()["items"][0]["card"] == "warning");
    window.key("ctrl+z");
    window.wait_state("1080x1080", "");
    CHECK(place.plan() == plain);
    window.fill("make-up file", place.at("none.json"));
    window.key("Tab");
    window.click("use make-up");
    window.wait_for("complaint");
    CHECK(window.state("complaint").find("none.json") != std::string::npos);
    CHECK(place.plan() == plain);
}

TEST_CASE("Strip, captions, covers, loudness and sound of a film, and what a card is for, are chosen by hand, each as one act") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    FilmWindow window(display, place, "rendering");
    window.click("film looks");
    for (const auto& [chip, key, value] : {std::tuple<const char*, const char*, json>{"strip off", "strip", "off"}, {"captions burnt", "captions", "burnt"}, {"covers plain", "covers", "plain"},
                                           {"-23 LUFS, broadcast", "loudness", -23.0}, {"everywhere at pace 1", "original_sound", true}}) {
        window.click(chip);
        window.wait_state(chip, "on");
        CHECK(place.plan()["film"][key] == value);
    }
    window.key("ctrl+z");
    window.wait_state("everywhere at pace 1", "");
    CHECK(place.plan()["film"]["original_sound"] == false);
    window.click("item 0");
    window.click("rendering");
    window.click("role warning");
    window.wait_state("role warning", "on");
    CHECK(place.plan()["items"][0]["card"] == "warning");
}

TEST_CASE("The fields are those of the card that is worked at, whatever brought it there") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    FilmWindow window(display, place, "item 0");
    CHECK(window.state("card title") == "One");
    window.key("t");
    window.wait_state("item 1", "on");
    window.wait_state("card title", "A note");
    window.fill("card title", "A note of mine");
    window.key("Return");
    window.wait_idle();
    CHECK(place.plan()["items"][1]["title"] == "A note of mine");
    CHECK(place.plan()["items"][0]["title"] == "One");
    window.key("Delete");
    window.wait_state("chapter", "Two");
    window.key("a");
    window.wait_state("chapter", "");
    window.key("ctrl+z");
    window.wait_state("item 2", "");
    // What an undo brings back is what is worked at.
    window.key("ctrl+z");
    window.wait_state("item 1", "on");
    window.wait_state("card title", "A note of mine");
}

TEST_CASE("What a command in a terminal does is on the screen a moment later") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    FilmWindow window(display, place, "item 1");
    json plan = place.plan();
    plan["items"].push_back(plan["items"][0]);
    write_file(place.folder / "longer.json", plan.dump());
    place.program.done("plan s1 --check '" + place.at("longer.json") + "' --keep");
    window.wait_for("item 2");
    place.program.done("undo s1");
    for (int i = 0; i < 100 && window.there("item 2"); ++i) usleep(50'000);
    CHECK_FALSE(window.there("item 2"));
    CHECK(window.there("item 1"));
}

TEST_CASE("What a trim takes with it is told, and comes back") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    FilmWindow window(display, place, "item 1");
    window.click("ask choices");
    window.wait_state("keyboard", "question 0 asks");
    window.key("Escape");
    window.wait_state("keyboard", "");
    for (int i = 0; i < 3; ++i) window.key("Right");
    window.wait_idle();
    window.key("bracketleft");
    window.wait_for("news");
    CHECK(window.state("news").find("A question went with what was cut off") != std::string::npos);
    CHECK_FALSE(place.plan()["items"][1].contains("questions"));
    window.key("ctrl+z");
    window.wait_for("question 0 asks");
    CHECK(place.plan()["items"][1]["questions"].size() == 1);
}

TEST_CASE("A press of Esc shorter than a frame leaves a field, and takes back what was typed there") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    FilmWindow window(display, place, "item 1");
    window.click("ask choices");
    window.wait_state("keyboard", "question 0 asks");
    window.type("Why");
    window.wait_state("question 0 asks", "Why");
    kill(window.pid(), SIGSTOP);
    window.key_unseen("Escape");
    kill(window.pid(), SIGCONT);
    window.wait_state("keyboard", "");
    CHECK(window.state("question 0 asks") == "What is it?");
    CHECK(place.plan()["items"][1]["questions"][0]["asks"] == "What is it?");
}

TEST_CASE("A question's spot is drawn on the picture with the mouse, shown there, and can still be typed") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    FilmWindow window(display, place, "item 1");
    const auto spot = [&] { return place.plan()["items"][1]["questions"][0]["spot"]; };
    window.click("ask spot");
    window.wait_for("spot 0");
    window.wait_idle();
    CHECK(spot()["x"].get<double>() == Approx(0.4));  // the middle, until it is drawn
    const json middle = window.wait_for("spot 0");
    const double x = middle["x"], y = middle["y"], w = middle["w"], h = middle["h"];  // a fifth of the picture each way
    window.drag(x - w, y - h, x, y);
    window.wait_state("spot 0", "20 20 20 20");
    CHECK(spot()["x"].get<double>() == Approx(0.2).margin(0.01));
    CHECK(spot()["y"].get<double>() == Approx(0.2).margin(0.01));
    CHECK(spot()["width"].get<double>() == Approx(0.2).margin(0.01));
    CHECK(spot()["height"].get<double>() == Approx(0.2).margin(0.01));
    CHECK(window.wait_for("spot 0")["x"].get<double>() == Approx(x - w).margin(3));
    window.key("ctrl+z");
    window.wait_state("spot 0", "40 40 20 20");
    CHECK(spot()["x"].get<double>() == Approx(0.4));
    // Esc leaves it: the next drag draws nothing.
    window.click("question 0 draw spot");
    window.wait_state("question 0 draw spot", "on");
    window.key("Escape");
    window.wait_state("question 0 draw spot", "");
    window.drag(x - w, y - h, x, y);
    CHECK(spot()["x"].get<double>() == Approx(0.4));
    window.fill("question 0 spot", "10 20 30 40");
    window.key("Return");
    window.wait_state("spot 0", "10 20 30 40");
    CHECK(spot()["height"].get<double>() == Approx(0.4));
    // However fast the hand is, the corners are where it pressed and let go.
    window.click("question 0 draw spot");
    window.wait_state("question 0 draw spot", "on");
    window.flick(x - w, y - h, x, y);
    window.wait_state("spot 0", "20 20 20 20");
    // And anew, from another frame: the film goes to the one at which it is asked.
    window.key("End");
    window.wait_idle();
    CHECK_FALSE(window.there("spot 0"));
    window.click("question 0 draw spot");
    window.wait_for("spot 0");
}

TEST_CASE("A draft in the place of a plan is asked about first, wants a length that it understands, and is taken back in one step") {
    const Place place;
    const json before = place.plan();
    const VirtualDisplay display("1920x1080");
    EditorWindow window(display, place.program.library(), "s1", "1920x1080");
    window.wait_idle();
    window.key("F4");
    window.wait_for("item 0");
    CHECK_FALSE(window.there("draft length"));
    window.click("draft");
    window.wait_for("draft instead");
    CHECK(place.plan() == before);  // only asked
    window.click("leave plan");
    window.wait_state("draft", "");
    CHECK_FALSE(window.there("draft instead"));
    window.key("d");
    window.wait_for("draft length");
    window.click("draft instead");
    window.wait_for("item 2", 60);
    CHECK_FALSE(window.there("draft instead"));
    CHECK(place.plan() != before);
    window.key("ctrl+z");
    window.wait_idle();
    CHECK(place.plan() == before);
    // A length that is not understood replaces nothing.
    window.key("d");
    window.wait_state("keyboard", "draft length");  // what is typed now is the length
    window.type("soon");
    window.key("Return");
    window.wait_for("complaint");
    CHECK(place.plan() == before);
    window.key("Escape");
    window.wait_state("draft", "");
}
