#include "tests/cli/program.hpp"
#include "tests/store/library_folder.hpp"

using namespace canalogue::test;

TEST_CASE("Wrong use ends with 2, media that cannot be used with 3, a broken promise with 4, a failing machine with 5") {
    TempFolder folder;
    const Program program(folder / "library");
    const std::string file = draw_recording(folder / "a.mkv", {}).string();
    write_file(folder / "words.mp4", "this is no film");
    write_file(folder / "empty.mp4", "");
    program.done("import --session s1 --ear right '" + file + "'");
    make_media(folder / "still.png", "-f lavfi -i color=c=brown:s=320x240 -frames:v 1");
    write_short_plan(folder / "plan.json");

    const std::pair<int, std::string> rows[] = {
        {2, "nonsense"},
        {2, "tag s1"},
        {2, "tag s1 drum-visible --at soon"},
        {2, "tag s1 drum-visable --at 1"},
        {2, "tag s1 drum-visible --at 99"},
        {2, "tag s1 drum-visible --at 1 --set clock=13"},
        {2, "tag s1 drum-visible --at 1 --ear both"},
        {2, "tag nobody drum-visible --at 1"},
        {2, "show nobody"},
        {2, "change s1 e9 --at 1"},
        {2, "delete s1 e9"},
        {2, "undo nobody"},
        {2, "decide s1 x9 --cover"},
        {2, "cover s1 --from 0 --until 1"},
        {2, "cover s1 --box 1,2,3 --from 0 --until 1"},
        {2, "cover s1 --box 9000,0,10,10 --from 0 --until 1"},
        {2, "cover s1 --whole --from 3 --until 2"},
        {2, "render s1 --plan /nowhere/plan.json --out '" + (folder / "x").string() + "'"},
        {2, "render s1 --plan '" + (folder / "words.mp4").string() + "' --out '" + (folder / "x").string() + "'"},
        {2, "render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "x").string() + "' --audience everybody"},
        {2, "render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + folder.path().string() + "'"},
        {2, "plan s1 --draft"},
        {2, "plan s1 --draft -o /nowhere/plan.json"},
        {2, "tag s1 drum-visible --at 1 --set clock="},
        {2, "tag s1 instrument-in --at 1 --set size=1e300"},
        {2, "known nobody"},
        {2, "known s1 Al --passphrase-file '" + (folder / "plan.json").string() + "'"},
        {2, "redo nobody"},
        {2, "known s1 '' --passphrase-file '" + (folder / "plan.json").string() + "'"},
        {2, "render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "library/exports/x").string() + "'"},
        {3, "import --session s2 --ear right '" + (folder / "still.png").string() + "'"},
        {2, "decide s1 x9..x3 --cover"},
        {2, "import --session -x --ear right '" + file + "'"},
        {2, "render s1 --plan '" + (folder / "plan.json").string() + "' --out ''"},
        {3, "import --session s2 --ear right '" + (folder / "words.mp4").string() + "'"},
        {3, "import --session s2 --ear right '" + (folder / "empty.mp4").string() + "'"},
        {3, "import --session s2 --ear right '" + (folder / "nothing.mp4").string() + "'"},
        {4, "render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "x").string() + "' --audience patient"},
    };
    for (const auto& [code, command] : rows) {
        const std::string words = program.refused(code, command);
        INFO(words);
        CHECK(words.find("terminate") == std::string::npos);
        CHECK_FALSE(fs::exists(folder / "x"));
    }
    const Program nowhere(folder / "words.mp4");  // a file where the library's folder should be
    CHECK(nowhere.refused(5, "show").find("folder") != std::string::npos);
    // What is stored was not touched.
    CHECK(program.parsed("selfcheck")["chain_holds"] == true);
    CHECK(program.parsed("show") == json::array({"s1"}));
}

TEST_CASE("A recording that was changed or moved since is not rendered, and is found again by its content alone") {
    TempFolder folder;
    const Program program(folder / "library");
    const fs::path file = draw_recording(folder / "a.mkv", {});
    program.done("import --session s1 --ear right '" + file.string() + "'");
    write_short_plan(folder / "plan.json");
    const std::string render = "render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "x").string() + "'";
    fs::rename(file, folder / "moved.mkv");
    CHECK(program.refused(3, render).find("--find") != std::string::npos);
    Drawn other;
    other.words = "OTHER";
    draw_recording(file, other);
    CHECK(program.refused(3, render).find("changed") != std::string::npos);
    CHECK(program.run("import --session s1 --find '" + file.string() + "'").code != 0);
    program.done("import --session s1 --find '" + (folder / "moved.mkv").string() + "'");
    CHECK_FALSE(fs::exists(folder / "x"));
}

TEST_CASE("The program says for every command what it does, with an example") {
    TempFolder folder;
    for (const char* command : {"import", "show", "confirm", "tag", "events", "change", "delete", "side", "undo", "redo", "gauge", "dismiss", "scan", "suspects", "decide", "cover", "adjust", "seen", "known", "check", "plan", "render", "vocab", "plugins", "selfcheck", "demo", "edit"}) {
        const Ran ran = try_run("'" CANALOGUE_PROGRAM "' " + std::string(command) + " --help");
        INFO(command << ": " << ran.out);
        CHECK(ran.code == 0);
        CHECK(ran.out.find(std::string("canalogue ") + command) != std::string::npos);
    }
}

TEST_CASE("A cover that was damaged in the library's file lets no film be made") {
    TempFolder folder;
    Program program(folder / "library");
    const fs::path file = draw_recording(folder / "a.mkv", {}), plan = folder / "plan.json", out = folder / "out";
    program.done("import --session s1 --ear right '" + file.string() + "'");
    program.done("cover s1 --box 40,30,200,40 --from 1 --until 7");
    write_short_plan(plan, "0:02.5", "0:03", false);
    sql(program.library(), "UPDATE item SET body=replace(body, '7000000000', '1000000001') WHERE kind='suspect'");
    CHECK(program.refused(4, "render s1 --plan '" + plan.string() + "' --out '" + out.string() + "'").find("suspect x1") != std::string::npos);
    CHECK_FALSE(fs::exists(out));
    CHECK(program.refused(4, "selfcheck").find("past does not hold") != std::string::npos);
}
