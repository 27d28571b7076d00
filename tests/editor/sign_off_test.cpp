// The reviewer's last act in a real window: the film is watched, and signed off.
#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue::test;

TEST_CASE("A film is signed off in the window once the session was watched to its end, and not before") {
    const std::string secret = "CANALOGUE_PASSPHRASE='a test passphrase'";
    const TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "a.mkv", {}).string() + "'");
    program.done("known s1 'Somebody Else'", secret);
    program.done("cover s1 --whole --from 0 --until 8");
    program.done("scan s1");
    program.done("decide s1 all --cover", secret);
    write_short_plan(folder / "plan.json", "0:02.5", "0:03", false);
    program.done("render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "out").string() + "'", secret);
    write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
    const auto newest = [&] { return program.parsed("signoff s1")[0]; };
    const std::string id = newest()["id"];

    const VirtualDisplay display;
    EditorWindow window(display, program.library(), "s1");
    window.key("F3");
    window.click("films");
    window.wait_state("against " + id, "1", 30);
    CHECK_FALSE(window.there("sign " + id));

    // What was watched is remembered; the rest is one key away.
    window.click("look Covered");
    window.key("Home");
    window.key("space");
    window.wait_state_changed("watched", "0", 30);
    window.key("space");
    CHECK(window.state("against " + id) == "1");
    window.key("End");
    window.key("g");
    window.key("space");
    window.wait_state("against " + id, "0", 60);
    // Only the library's passphrase signs.
    CHECK_FALSE(window.there("sign " + id));
    window.fill("passphrase", "a test passphrase");
    window.key("Return");
    window.click("sign " + id);
    window.wait_state("signed " + id, "N. Example", 30);
    CHECK_FALSE(window.there("sign " + id));
    CHECK(newest()["signed_off_by"] == "N. Example");
    CHECK(program.done("signoff s1", secret).find("the signature holds") != std::string::npos);

    // A cover taken away afterwards stands against the next film, not against what was signed.
    window.key("ctrl+z");
    CHECK(newest()["signed_off_by"] == "N. Example");
}

TEST_CASE("Spans are marked as inside and outside on the time map, and marks that look alike are refused with a way on") {
    const TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "a.mkv", {}).string() + "'");
    write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
    const VirtualDisplay display;
    EditorWindow window(display, program.library(), "s1");
    window.key("F3");
    CHECK_FALSE(window.there("mark inside"));
    window.click("view wrong");
    const json map = window.wait_for("time map");
    const auto mark = [&](const std::string& button, double from, double until) {
        window.click(button);
        const double x = map["x"].get<double>(), w = map["w"].get<double>(), y = map["y"].get<double>() + 40;
        window.drag(x + w * from, y, x + w * until, y);
    };
    mark("mark inside", .1, .3);
    mark("mark inside", .32, .48);
    mark("mark outside", .55, .7);
    mark("mark outside", .75, .9);
    window.click("set right");
    window.wait_for("complaint", 60);
    INFO(window.state("complaint"));
    const std::string said = window.state("complaint");
    CHECK((said.find("reads alike") != std::string::npos || said.find("Nothing was measured") != std::string::npos));
    CHECK(window.there("mark inside"));  // the marks stay, to be mended
}
