// Another visit beside a passage: its pictures come covered as its own suspects ask, and what cannot be shown is refused.
#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

Drawn green(const std::string& words) {
    Drawn d;
    d.words = words, d.ground = "0x2a8a48";
    return d;
}

// A library with this visit (brown) and an earlier one (green), in which these words stand under a cover made by hand.
struct Place {
    // Kept by its name: one name is one set of words.
    Place(const TempFolder& folder, const std::string& name, const std::string& words) : program(folder / ("library-" + name)), out(folder / ("out-" + name)) {
        const fs::path place = kept_by_program("two visits " + name, [&](const fs::path& made) { fill(Program(made / "library"), made, words); });
        copy_library(place / "library", program.library());
    }
    static void fill(const Program& maker, const fs::path& made, const std::string& words) {
        maker.done("import --session s1 --ear right '" + draw_recording(made / "now.mkv", {}).string() + "'");
        maker.done("import --session earlier --ear left '" + draw_recording(made / "earlier.mkv", green(words)).string() + "'");
        for (const char* session : {"s1", "earlier"}) {
            maker.done(std::string("scan ") + session);
            maker.done(std::string("cover ") + session + " --box 0,0,560,130 --from 0 --until 8");
            // A plain ground passes for no ear, and would be covered wholly.
            for (const auto& suspect : maker.parsed(std::string("suspects ") + session))
                if (suspect["kind"] == "outside") maker.done(std::string("decide ") + session + " " + suspect["id"].get<std::string>() + " --harmless --reason 'drawn for a test'");
        }
    }
    std::string render(const fs::path& plan) const { return "render s1 --plan '" + plan.string() + "' --out '" + out.string() + "'"; }
    Program program;
    fs::path out;
};

json plan_beside(const json& beside) {
    return {{"canalogue_plan", 1}, {"title", "Two visits"}, {"items", {{{"recording", "r1"}, {"ear", "right"}, {"from", "0:01"}, {"until", "0:03"}, {"beside", beside}}}}};
}

json earlier() { return {{"session", "earlier"}, {"recording", "r1"}, {"ear", "left"}, {"meets", "0:02"}, {"with", "0:01"}, {"words", "Now"}, {"other_words", "Earlier"}}; }

// The mean colour of a part of the film's picture, a second in: red, green and blue.
std::vector<int> colour_of(const fs::path& film, const std::string& crop) {
    const std::string bytes = run("ffmpeg -v error -ss 1 -i '" + film.string() + "' -frames:v 1 -vf crop=" + crop + ",scale=1:1:flags=area -f rawvideo -pix_fmt rgb24 -");
    REQUIRE(bytes.size() >= 3);
    return {static_cast<unsigned char>(bytes[0]), static_cast<unsigned char>(bytes[1]), static_cast<unsigned char>(bytes[2])};
}

}  // namespace

TEST_CASE("Another visit stands beside a passage as its own covers leave it: what differs under them makes the same film, byte for byte") {
    TempFolder folder;
    const Place a(folder, "a", "HARBOUR ONE"), b(folder, "b", "ANOTHER");
    write_file(folder / "plan.json", plan_beside(earlier()).dump());
    for (const Place* p : {&a, &b}) p->program.done(p->render(folder / "plan.json"));
    CHECK(files_under(a.out) == files_under(b.out));
    // It is the other visit that is seen at the right: green, beside the brown of this one.
    const auto left = colour_of(a.out / "clip.mp4", "200:60:100:300"), right = colour_of(a.out / "clip.mp4", "200:60:740:300");
    INFO(left[0] << " " << left[1] << " beside " << right[0] << " " << right[1]);
    CHECK(left[0] > left[1] + 20);
    CHECK(right[1] > right[0] + 40);
    // The session's name is in no export.
    for (const auto& [name, bytes] : files_under(a.out)) CHECK(bytes.find("earlier/r1") == std::string::npos);
}

TEST_CASE("Without the other visit's covers the two films differ: its covers are what kept them the same") {
    TempFolder folder;
    const Place a(folder, "a", "HARBOUR ONE"), b(folder, "b", "ANOTHER");
    write_file(folder / "plan.json", plan_beside(earlier()).dump());
    // Where the export is, held back or not: the check may read the words.
    const auto film = [&](const Place& p) {
        for (const auto& suspect : p.program.parsed("suspects earlier")) p.program.run("decide earlier " + suspect["id"].get<std::string>() + " --harmless --reason 'drawn for a test'");
        const Ran ran = p.program.run(p.render(folder / "plan.json") + " --json");
        INFO(ran.out << p.program.said());
        REQUIRE((ran.code == 0 || ran.code == 4));
        return read_file(fs::path(json::parse(ran.out).at("folder").get<std::string>()) / "clip.mp4");
    };
    const bool alike = film(a) == film(b);
    CHECK_FALSE(alike);
}

TEST_CASE("Another visit that cannot be shown is refused in a plain sentence before anything is made") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "now.mkv", {}).string() + "'");
    const fs::path file = draw_recording(folder / "earlier.mkv", green("EARLIER"));
    program.done("import --session earlier --ear left '" + file.string() + "'");
    const auto refused = [&](const char* key, const json& value) {
        json beside = earlier();
        beside[key] = value;
        write_file(folder / "plan.json", plan_beside(beside).dump());
        const std::string at = "'" + (folder / "plan.json").string() + "'";
        const std::string looked_over = program.refused(2, "plan s1 --check " + at);
        const std::string said = program.refused(2, "render s1 --plan " + at + " --out '" + (folder / "out").string() + "'");
        CHECK(said == looked_over);
        CHECK_FALSE(fs::exists(folder / "out"));
        return said;
    };
    CHECK(refused("session", "nobody").find("session 'nobody' beside this one, and the library does not have it") != std::string::npos);
    CHECK(refused("session", "s1").find("names its own session") != std::string::npos);
    CHECK(refused("recording", "r7").find("recording 'r7' of session 'earlier'") != std::string::npos);
    CHECK(refused("meets", "0:20").find("shows beside it 0:20 of") != std::string::npos);
    CHECK(refused("ear", "right").find("shows the other ear there") != std::string::npos);
    // A file that went is told of when it is looked for.
    write_file(folder / "plan.json", plan_beside(earlier()).dump());
    fs::remove(file);
    CHECK(program.refused(3, "render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "out").string() + "'").find("not where it was") != std::string::npos);
}
