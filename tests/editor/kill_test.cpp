// What the screen has shown is on disk, whatever happens to the program.
#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue::test;

TEST_CASE("Killed at any moment, the editor has lost no event that the screen had shown") {
    TempFolder folder;
    const Program program(folder / "library");
    const fs::path file = draw_recording(folder / "a.mkv", {});
    program.done("import --session s1 --ear right '" + file.string() + "'");
    write_file(folder / "library/settings.json", R"({"author":"N. Example","toured":true})");
    const VirtualDisplay display;
    constexpr int kKills = 50;
    std::size_t shown = 0;
    for (int i = 0; i < kKills; ++i) {
        EditorWindow window(display, program.library(), "s1");
        window.click("page Events");
        window.key("space");
        // Another number of keys each time, and the blow falls while the last one is under way.
        for (int k = 0; k < 1 + i % 3; ++k) window.key(k % 2 ? "6" : "1");
        std::size_t on_screen = 0;
        for (const auto& name : window.ask("list"))
            if (name.get<std::string>().starts_with("event e")) ++on_screen;
        window.kill9();
        shown = std::max(shown, on_screen);
        const json events = program.parsed("events s1");
        INFO("kill " << i);
        CHECK(events.size() >= on_screen);
    }
    CHECK(shown > 5);
    CHECK(program.parsed("selfcheck")["chain_holds"] == true);
}
