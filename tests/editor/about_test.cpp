// What the educator tells of a case at the Clip desk.
#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue::test;

TEST_CASE("What a case says about itself is kept as it is typed, one act each, and earns its marks") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "right.mkv", {}).string() + "'");
    write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
    write_file(folder / "plan.json", R"({"canalogue_plan":1,"title":"Short","items":[
        {"card":"title","title":"One","length":"0:02"},
        {"recording":"r1","ear":"right","from":"0:01","until":"0:05","chapter":"Two"},
        {"card":"end","title":"Four","length":"0:01"}]})");
    program.done("plan s1 --check '" + (folder / "plan.json").string() + "' --keep");
    const VirtualDisplay display;
    EditorWindow window(display, program.library(), "s1");
    window.wait_idle();
    window.key("F4");
    window.wait_for("telling");
    window.click("telling");
    window.wait_state("assessment", "6 of 18");
    window.fill("about made by", "a harbour-town clinic");
    window.key("Return");
    window.wait_state("assessment", "7 of 18");
    CHECK(json::parse(program.done("plan s1"))["about"]["made_by"] == "a harbour-town clinic");
    window.key("ctrl+z");
    window.wait_state("assessment", "6 of 18");
    CHECK(json::parse(program.done("plan s1")).value("about", json::object()).value("made_by", "") == "");
}
