// Another picture beside a passage, chosen by hand at the Clip desk: of this visit or of another one in the library.
#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue::test;

namespace {

// A session with a kept plan, tagged.
struct Place {
    Place() : program(folder / "library") {
        program.done("import --session s1 --ear right '" + draw_recording(folder / "right.mkv", {}).string() + "'");
        program.done("tag s1 blockage-found --at 0:02");
        program.done("tag s1 drum-visible --at 0:03");
        write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
        keep("s1", "Now");
    }
    void keep(const std::string& session, const std::string& title) const {
        write_file(folder / "plan.json", R"({"canalogue_plan":1,"title":")" + title + R"(","items":[{"recording":"r1","ear":")" + (session == "s1" ? "right" : "left") + R"(","from":"0:01","until":"0:05"}]})");
        program.done("plan " + session + " --check '" + (folder / "plan.json").string() + "' --keep");
    }
    // Another visit, with a plan that has a title.
    fs::path visit(const std::string& session, const std::string& title) const {
        const fs::path file = draw_recording(folder / (session + ".mkv"), {});
        program.done("import --session " + session + " --ear left '" + file.string() + "'");
        program.done("tag " + session + " canal-clear --at 0:06");
        keep(session, title);
        return file;
    }
    json beside() const { return json::parse(program.done("plan s1"))["items"][0].value("beside", json()); }
    TempFolder folder;
    Program program;
};

struct BesideWindow : EditorWindow {
    BesideWindow(const VirtualDisplay& display, const Place& place) : EditorWindow(display, place.program.library(), "s1", "1920x1080") {
        wait_idle();
        key("F4");
        click("item 0");
        wait_state("item 0", "on");
        click("part beside");
        wait_for("visit s1");
        wait_idle();
    }
};

}  // namespace

TEST_CASE("A passage is shown beside a moment of another visit: the visit, its event and the event where they meet are chosen, as one act") {
    const Place place;
    place.visit("earlier", "The first visit");
    const VirtualDisplay display("1920x1080");
    BesideWindow window(display, place);
    CHECK(window.state("visit s1") == "on");  // this visit, unless another is chosen
    CHECK_FALSE(window.there("no other visit"));
    window.click("visit earlier");
    window.wait_state("visit earlier", "on");
    CHECK_FALSE(window.there("meet here"));  // not before a moment is chosen
    CHECK_FALSE(window.there("remember moment"));  // what is shown is this visit's
    window.click("moment 0");
    window.wait_for("meets e2");
    CHECK(place.beside().is_null());
    window.click("meets e2");
    window.wait_for("no beside");
    const json expected = {{"session", "earlier"}, {"recording", "r1"}, {"ear", "left"}, {"meets", "0:06"}, {"with", "0:03"}, {"words", "Before"}, {"other_words", "After"}, {"fill", false}};
    CHECK(place.beside() == expected);
    CHECK(window.state("beside").find("earlier: The first visit") != std::string::npos);
    // The preview opens the other visit's file, too.
    window.key("v");
    window.wait_state_changed("film", "0", 30);
    window.key("v");
    window.key("ctrl+z");
    window.wait_for("visit earlier");
    CHECK(place.beside().is_null());
    window.key("ctrl+y");
    window.wait_for("no beside");
    CHECK(place.beside() == expected);
}

TEST_CASE("A passage is shown beside another moment of its own visit: one of its events, or the frame that was remembered") {
    const Place place;
    const VirtualDisplay display("1920x1080");
    BesideWindow window(display, place);
    window.wait_for("no other visit");
    window.click("moment 0");
    window.wait_for("meet here");
    window.click("meet here");
    window.wait_for("no beside");
    CHECK(place.beside().value("session", "") == "");
    CHECK(place.beside()["meets"] == "0:02");
    window.click("no beside");
    window.wait_for("remember moment");
    for (int i = 0; i < 5; ++i) window.key("Right");
    window.click("remember moment");
    window.click("meets e1");
    window.wait_for("no beside");
    CHECK(place.beside()["meets"] == "0:01.2");
    CHECK(place.beside()["with"] == "0:02");
}

TEST_CASE("A visit that no film could show is not offered, and the reason is told") {
    const Place place;
    fs::remove(place.visit("lost", "A file that went"));
    place.visit("named", "Sealed names");
    write_file(place.folder / "pass.txt", "sand and shells\n");
    place.program.done("known named 'Thirza Quennelle' --passphrase-file '" + (place.folder / "pass.txt").string() + "'");
    const VirtualDisplay display("1920x1080");
    BesideWindow window(display, place);
    CHECK_FALSE(window.there("visit lost"));
    CHECK(window.state("visit against lost").find("not where it was") != std::string::npos);
    CHECK_FALSE(window.there("visit named"));
    CHECK(window.state("visit against named").find("unlock the library") != std::string::npos);
    // Unlocked, a film can be compared with the names.
    window.key("F3");
    window.fill("passphrase", "sand and shells");
    window.key("Return");
    window.wait_idle();
    window.key("F4");
    window.wait_for("visit named");
    CHECK_FALSE(window.there("visit lost"));
}
