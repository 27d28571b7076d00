// What else a passage can do with its picture and sound, by hand at the Clip desk: each act one to take back.
#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue::test;

namespace {

struct Place {
    Place() : program(folder / "library") {
        program.done("import --session s1 --ear right '" + draw_recording(folder / "right.mkv", {}).string() + "'");
        write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
        write_file(folder / "plan.json", R"({"canalogue_plan":1,"title":"Short","items":[
            {"card":"title","title":"One","length":"0:02"},
            {"recording":"r1","ear":"right","from":"0:01","until":"0:05","chapter":"Two"}]})");
        program.done("plan s1 --check '" + (folder / "plan.json").string() + "' --keep");
    }
    json passage() const { return json::parse(program.done("plan s1"))["items"][1]; }
    TempFolder folder;
    Program program;
};

}  // namespace

TEST_CASE("A passage is mirrored, pointed into, told where it is and let be heard, by hand") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    EditorWindow window(display, place.program.library(), "s1", "1920x1080");
    window.wait_idle();
    window.key("F4");
    window.click("item 1");
    window.wait_state("item 1", "on");
    window.wait_idle();

    window.click("part view");
    window.click("mirrored");
    window.wait_state("mirrored", "on");
    CHECK(place.passage()["view"]["mirrored"] == true);
    window.click("brighter");
    window.wait_for("as filmed");
    window.click("as filmed");
    window.wait_state("mirrored", "");
    CHECK_FALSE(place.passage().contains("view"));
    window.key("ctrl+z");
    window.wait_state("mirrored", "on");
    CHECK(place.passage()["view"]["brightness"] == 0.25);

    // What is pointed at is seen on the picture where it was drawn.
    window.click("part point");
    window.click("point Ring");
    const json pane = window.wait_for("picture");
    const double px = pane["x"], py = pane["y"], pw = pane["w"], ph = pane["h"];
    window.drag(px + pw * 0.5, py + ph * 0.5, px + pw * 0.6, py + ph * 0.6);
    const json ring = window.wait_for("pointer 0");
    CHECK(ring["x"].get<double>() == Approx(px + pw * 0.5).margin(3));
    CHECK(ring["w"].get<double>() == Approx(pw * 0.1).margin(4));
    window.fill("pointer words 0", "Hard wax");
    window.key("Return");
    window.wait_state("pointer 0", "Hard wax");
    window.click("no pointer 0");
    window.wait_idle();
    CHECK_FALSE(window.there("pointer 0"));

    window.click("part label");
    window.click("label here");
    window.wait_for("label words 0");
    window.fill("label words 0", "Hard wax");
    window.key("Return");
    window.wait_idle();
    CHECK(place.passage()["labels"][0]["text"] == "Hard wax");
    window.click("no label 0");
    window.wait_idle();
    CHECK(place.passage().value("labels", json::array()).empty());

    window.click("part place");
    window.click("clock 5");
    window.wait_state("clock 5", "on");
    CHECK(place.passage()["places"][0]["clock"] == 5);
    window.click("depth deep");
    window.wait_state("depth deep", "on");
    CHECK(place.passage()["places"][0]["depth"] == "deep");

    window.click("part sound");
    window.click("heard");
    window.wait_for("not heard 0");
    CHECK(place.passage()["heard"].size() == 1);

    window.click("part point");
    window.click("point Ring");
    window.wait_idle();
    const json picture = window.wait_for("picture");
    const double x = picture["x"], y = picture["y"], w = picture["w"], h = picture["h"];
    window.drag(x + w * 0.4, y + h * 0.4, x + w * 0.6, y + h * 0.6);
    window.wait_for("no pointer 0");
    const json pointer = place.passage()["pointers"][0];
    CHECK(pointer["shape"] == "ring");
    CHECK(pointer["path"][0]["x"].get<double>() == Approx(0.5).margin(0.1));
    window.click("no pointer 0");
    window.wait_idle();
    CHECK_FALSE(place.passage().contains("pointers"));
}
