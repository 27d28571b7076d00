#include "app/store/library.hpp"
#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

const std::string kSecret = "CANALOGUE_PASSPHRASE='a test passphrase'";

struct Made {
    Made() : program(folder / "library"), out(folder / "out") {
        const fs::path place = kept_by_program("to sign off", [](const fs::path& made) {
            const Program maker(made / "library");
            maker.done("import --session s1 --ear right '" + draw_recording(made / "a.mkv", {}).string() + "'");
            maker.done("known s1 'Somebody Else'", kSecret);
            maker.done("cover s1 --whole --from 0 --until 8");
            maker.done("scan s1");
            maker.done("decide s1 all --cover", kSecret);
        });
        copy_library(place / "library", program.library());
        render();
    }
    void render() const {
        const fs::path plan = folder / "plan.json";
        write_short_plan(plan, "0:02.5", "0:03", false);
        program.done("render s1 --replace --plan '" + plan.string() + "' --out '" + out.string() + "'", kSecret);
    }
    // Only the window can tell what was watched; here it is written as the window writes it.
    void watch_all() const {
        auto library = canalogue::store::Library::open(program.library());
        REQUIRE(library.ok());
        REQUIRE(library->commit({"s1", "watch", "N. Example", {{"seen", "seen", json{{"recordings", {{"r1", {{0, 8'000'000'000}}}}}}}}, false}).ok());
    }
    json newest() const { return program.parsed("signoff s1")[0]; }
    std::string id() const { return newest()["id"]; }

    TempFolder folder;
    Program program;
    fs::path out;
};

}  // namespace

TEST_CASE("A sign-off asks for every suspect decided and for all of the session watched, and signs one exact export") {
    Made m;
    CHECK(m.newest()["hindrances"].size() == 1);
    CHECK(m.newest()["hindrances"][0].get<std::string>().find("was not watched") != std::string::npos);
    CHECK(m.program.run("signoff s1 " + m.id(), kSecret).code == 4);
    m.watch_all();
    CHECK(m.newest()["hindrances"].empty());
    CHECK(m.program.run("signoff s1 " + m.id(), "CANALOGUE_PASSPHRASE='another passphrase'").code == 2);
    m.program.done("signoff s1 " + m.id(), kSecret);
    CHECK(m.newest()["signed_off_by"] == "N. Example");
    CHECK(m.program.done("signoff s1", kSecret).find("the signature holds") != std::string::npos);

    // Another film of the same session is not signed by it.
    m.program.done("tag s1 drum-visible --at 2.6");
    m.render();
    CHECK(m.newest()["signed_off_by"] == "");
}

TEST_CASE("What was changed since stands against a sign-off: a file of the export, a cover, a new suspect") {
    Made m;
    m.watch_all();
    const auto against = [&] { return m.newest()["hindrances"].dump(); };
    const std::string captions = read_file(m.out / "clip.vtt");
    write_file(m.out / "clip.vtt", "other words");
    CHECK(against().find("not what was made") != std::string::npos);
    CHECK(m.program.run("signoff s1 " + m.id(), kSecret).code == 4);
    write_file(m.out / "clip.vtt", captions);
    CHECK(against() == "[]");

    write_file(m.out / "more.txt", "a name");
    CHECK(against().find("not what was made") != std::string::npos);
    fs::remove(m.out / "more.txt");
    CHECK(against() == "[]");

    m.program.done("cover s1 --sound --from 1 --until 2");
    CHECK(against().find("Covers were changed") != std::string::npos);
    m.program.done("undo s1");  // it is uncovered again: watched again, too
    CHECK(against().find("was not watched") != std::string::npos);
    m.watch_all();
    CHECK(against() == "[]");

    m.program.done("undo s1");  // the decision on what was found
    CHECK(against().find("open: decide") != std::string::npos);
}
