// The preview of a film at the Clip desk: it plays, stands still, and goes wherever it is sent.
#include <catch2/catch.hpp>

#include <chrono>
#include <thread>

#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue::test;

namespace {

// A card of 2 s and a passage of 4 s.
struct Place {
    Place() : program(folder / "library") {
        program.done("import --session s1 --ear right '" + draw_recording(folder / "right.mkv", {}).string() + "'");
        for (const char* spotter : {"burnt_text", "file_fields", "outside", "faces", "speech"}) program.run("decide s1 u-r1-" + std::string(spotter) + "-0:00 --harmless --reason 'drawn for a test'");
        write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
        write_file(folder / "plan.json", R"({"canalogue_plan":1,"title":"Short","items":[
            {"card":"title","title":"One","length":"0:02"},
            {"recording":"r1","ear":"right","from":"0:02","until":"0:06","chapter":"Two"}]})");
        program.done("plan s1 --check '" + (folder / "plan.json").string() + "' --keep");
    }
    TempFolder folder;
    Program program;
};

struct PreviewWindow : EditorWindow {
    PreviewWindow(const VirtualDisplay& display, const Place& place) : EditorWindow(display, place.program.library(), "s1") {
        wait_idle();
        key("F4");
        wait_for("item 1");
        key("v");
        wait_for("film clock", 30);
    }
    // Where the film stands, in milliseconds.
    int at() { return std::stoi(state("film")); }
    // It goes there and stays; the frame of an instant lies at most a frame before it.
    void wait_at(int milliseconds, int margin = 41) {
        for (int i = 0; i < 200 && std::abs(at() - milliseconds) > margin; ++i) std::this_thread::sleep_for(std::chrono::milliseconds(50));
        CHECK(std::abs(at() - milliseconds) <= margin);
    }
    bool stands_still() {
        const int before = at();
        std::this_thread::sleep_for(std::chrono::milliseconds(500));
        return at() == before;
    }
};

}  // namespace

TEST_CASE("The preview plays, stands still, and goes by frames, seconds and items, and wherever its bar is pressed") {
    const Place place;
    const VirtualDisplay display;
    PreviewWindow window(display, place);
    window.wait_state_changed("film", "0", 30);
    window.key("space");
    CHECK(window.stands_still());
    const int before = window.at();
    for (int i = 0; i < 3; ++i) window.key("Right");
    window.wait_at(before + 120);
    window.key("Left");
    window.wait_at(before + 80);
    window.key("Home");
    window.wait_at(0, 0);
    window.key("shift+Right");
    window.wait_at(1000, 0);
    window.key("Down");  // the passage
    window.wait_at(2000, 0);
    window.click("item 1");
    window.wait_state("item 1", "on");
    window.click("film bar");
    window.wait_at(3000, 60);
    // "Here" is what is seen.
    window.click("hold here");
    window.wait_for("no hold 0");
    const std::string held = place.program.done("plan s1");
    CHECK(json::parse(held)["items"][1]["holds"][0]["at"].get<std::string>().substr(0, 2) == "0:");
    CHECK(std::stod(json::parse(held)["items"][1]["holds"][0]["at"].get<std::string>().substr(2)) == Approx(3).margin(0.1));
    window.key("ctrl+z");
    window.wait_idle();
    window.click("item 0");
    window.wait_at(0, 0);
    window.key("End");
    window.wait_at(5960, 0);
    CHECK(window.stands_still());
    // From the end it plays from the beginning.
    window.key("space");
    window.wait_at(300, 300);
    window.key("Escape");
    window.wait_for("picture");
    CHECK_FALSE(window.there("film"));
    CHECK(window.there("clock"));  // the session's own
}

TEST_CASE("The preview shows what is changed meanwhile, from where it stands, and stays at its last frame at the end") {
    const Place place;
    const VirtualDisplay display;
    PreviewWindow window(display, place);
    window.key("space");
    window.click("item 1");
    window.wait_at(2000, 0);
    window.key("shift+Right");
    window.wait_at(3000, 0);
    window.click("pace 2");
    window.wait_state("pace 2", "on");
    window.wait_at(3000, 0);
    CHECK(window.stands_still());
    window.key("End");
    window.wait_at(3960, 0);  // two seconds of card, four at twice the pace
    window.key("ctrl+z");
    window.wait_state("pace 1", "on");
    window.key("End");
    window.wait_at(5960, 0);
    window.key("shift+Left");
    window.wait_at(4960, 0);
    window.key("space");
    window.wait_at(5960, 0);
    CHECK(window.stands_still());
    CHECK(window.there("film"));
}
