#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

// Two visits that differ only in the words at the upper left, in the sound from 3.2 s to 3.8 s, in a tag
// of the container and in the name of the file.
Drawn one() { return {"HARBOUR ONE", "0x8a5a48", 5, 440, 900, "First title"}; }
Drawn other() { return {"ANOTHER", "0x8a5a48", 5, 440, 1370, "Quite another title 12"}; }

class Visit {
  public:
    // As it was imported and tagged: nobody has looked at it.
    Visit(const fs::path& folder, const std::string& name, const Drawn& drawn) : Visit(folder, name, folder / (name + " recording.mkv")) {
        draw_recording(file, drawn);
        program.done("import --session s1 --ear right '" + file.string() + "'");
        program.done("tag s1 drum-visible --at 0:03 --set clock=5");
        program.done("tag s1 canal-clear --at 0:04");
    }
    // The same, scanned. Kept by its name: one name is one drawing.
    static Visit scanned(const fs::path& folder, const std::string& name, const Drawn& drawn) {
        const fs::path place = kept_by_program("visit " + name, [&](const fs::path& made) {
            const Visit visit(made, name, drawn);
            visit.program.done("scan s1");
            // A plain ground passes for no ear and would be covered wholly: then nothing would be compared.
            for (const auto& suspect : visit.program.parsed("suspects s1"))
                if (suspect["kind"] == "outside") visit.program.done("decide s1 " + suspect["id"].get<std::string>() + " --harmless --reason 'drawn for a test'");
        });
        Visit visit(folder, name, place / (name + " recording.mkv"));
        copy_library(place / ("library-" + name), visit.program.library());
        return visit;
    }
    void cover_by_hand() const {
        program.done("cover s1 --box 0,0,560,130 --from 0 --until 8");
        program.done("cover s1 --sound --from 3 --until 4");
    }
    // Where the export is, whether or not it was held back.
    fs::path render(const fs::path& plan) const {
        const Ran ran = program.run("render s1 --plan '" + plan.string() + "' --out '" + out.string() + "' --json");
        INFO(ran.out << program.said());
        REQUIRE((ran.code == 0 || ran.code == 4));
        return json::parse(ran.out).at("folder").get<std::string>();
    }
    Program program;
    fs::path out, file;

  private:
    Visit(const fs::path& folder, const std::string& name, const fs::path& its_file) : program(folder / ("library-" + name)), out(folder / ("out-" + name)), file(its_file) {}
};

// Parts of the pictures are covered, and the rest is there to be seen.
void shows_what_is_not_covered(const fs::path& folder) {
    const json covered = json::parse(read_file(folder / "manifest.json"))["identity"]["covered"];
    CHECK(covered["seconds_wholly_covered"] == 0.0);
    CHECK(covered["boxes"] >= 1);
}

// The first place at which two exports differ; empty when they are the same, byte for byte.
std::string difference(const fs::path& a, const fs::path& b) {
    const auto in_a = files_under(a), in_b = files_under(b);
    for (const auto& [name, bytes] : in_a)
        if (!in_b.count(name) || in_b.at(name) != bytes) return name;
    return in_a.size() == in_b.size() ? "" : "the number of files";
}

}  // namespace

TEST_CASE("Two sessions that differ only under covers give exports that are the same, byte for byte") {
    TempFolder folder;
    const Visit a = Visit::scanned(folder.path(), "a", one()), b = Visit::scanned(folder.path(), "longer name of b", other());
    const bool alike = read_file(a.file) == read_file(b.file);
    REQUIRE_FALSE(alike);
    for (const Visit* v : {&a, &b}) v->cover_by_hand();
    // One plan, drafted from the tags of one of them, with the original sound let through.
    a.program.done("plan s1 --draft -o '" + (folder / "draft.json").string() + "'");
    json plan = json::parse(read_file(folder / "draft.json"));
    b.program.done("plan s1 --draft -o '" + (folder / "draft-b.json").string() + "'");
    CHECK(read_file(folder / "draft.json") == read_file(folder / "draft-b.json"));
    plan["film"]["original_sound"] = true;
    // Shortened: the first card and the stretch in which the sounds differ.
    while (plan["items"].size() > 2) plan["items"].erase(2);
    plan["items"][0]["length"] = "0:01";
    plan["items"][0]["narration"] = json::array();
    plan["items"][1]["from"] = "0:02.5";
    plan["items"][1]["until"] = "0:05";
    plan["items"][1]["pace"] = 1.0;
    // What learners get tells of the case and asks, once for a spot right where the recordings differ.
    plan["about"] = {{"made_by", "a harbour-town clinic"}, {"case", "An engineer hears less."}, {"aims", {"See the drum"}}};
    plan["items"][1]["questions"] = json::array({{{"at", "0:03"}, {"asks", "Where is it?"}, {"spot", {{"x", 0.06}, {"y", 0.08}, {"width", 0.3}, {"height", 0.1}}}, {"reveals", "There."}}});
    // White, shakes and what a pointer follows are taken from covered pictures, the pointer right where the words differ.
    json& passage = plan["items"][1];
    const std::string from = passage["from"], until = passage["until"];
    passage["view"] = {{"steady", true}, {"mirrored", true}, {"turn", 20}, {"brightness", 0.5}, {"white", {{"over", {{"from", from}, {"until", until}}}}}};
    passage["pointers"] = json::array({{{"shape", "ring"}, {"from", from}, {"until", until}, {"path", json::array({{{"at", from}, {"x", 0.2}, {"y", 0.1}}})}, {"width", 0.2}, {"height", 0.1}, {"text", "Here"}}});
    passage["places"] = json::array({{{"from", from}, {"until", until}, {"clock", 4}, {"depth", "deep"}}});
    write_file(folder / "plan.json", plan.dump());
    for (const Visit* v : {&a, &b}) v->program.done("plan s1 --check '" + (folder / "plan.json").string() + "' --follow -o '" + (v->out.string() + ".json") + "'");
    CHECK(read_file(a.out.string() + ".json") == read_file(b.out.string() + ".json"));

    const fs::path first = a.render(a.out.string() + ".json"), second = b.render(b.out.string() + ".json");
    CHECK(first == a.out);  // neither was held back
    CHECK(second == b.out);
    CHECK(files_under(first).count("clip.mp4") == 1);
    CHECK(files_under(first).size() >= 8);
    for (const char* name : {"case.html", "handout.pdf", "publishing/thumbnail.jpg"}) CHECK(files_under(first).count(name) == 1);
    CHECK(read_file(first / "case.html").find("Where is it?") != std::string::npos);
    CHECK(difference(first, second).empty());
    shows_what_is_not_covered(first);
    // The film says what was changed.
    const json changes = json::parse(read_file(first / "manifest.json"))["film"]["view_changes"];
    REQUIRE(changes.size() == 1);
    CHECK(changes[0]["item"] == 2);
    CHECK(changes[0]["changed"] == "mirrored, turned 20\u00b0 clockwise, brightened, white balanced, steadied");
}

TEST_CASE("A close-up that moves over a cover says no more than the whole picture: the exports stay the same, byte for byte") {
    TempFolder folder;
    const Visit a = Visit::scanned(folder.path(), "a", one()), b = Visit::scanned(folder.path(), "longer name of b", other());
    for (const Visit* v : {&a, &b}) v->cover_by_hand();
    // From the whole picture into the corner where the words differ, six times as large.
    write_short_plan(folder / "plan.json");
    json plan = json::parse(read_file(folder / "plan.json"));
    plan["items"][1]["close_up"] = {{"from", {{"x", 0}, {"y", 0}, {"width", 1}, {"height", 1}}},
                                    {"until", {{"x", 0.031}, {"y", 0.047}, {"width", 0.1667}, {"height", 0.1667}}},
                                    {"moving", {{"from", "0:03"}, {"until", "0:04.5"}}}};
    plan["items"][1]["beside"] = {{"recording", "r1"}, {"ear", "right"}, {"meets", "0:01"}, {"with", "0:03"}, {"words", "Now"}, {"other_words", "Earlier"}};
    write_file(folder / "plan.json", plan.dump());
    const fs::path first = a.render(folder / "plan.json"), second = b.render(folder / "plan.json");
    CHECK(first == a.out);
    CHECK(second == b.out);
    CHECK(difference(first, second).empty());
    shows_what_is_not_covered(first);
    const json close_ups = json::parse(read_file(first / "manifest.json"))["film"]["close_ups"];
    REQUIRE(close_ups.size() == 1);
    CHECK(close_ups[0]["item"] == 2);
    CHECK(close_ups[0]["enlarged_at_most"] == Approx(6).margin(0.01));
    // It does show: the same plan without it makes another film.
    plan["items"][1].erase("close_up");
    write_file(folder / "whole.json", plan.dump());
    a.program.done("render s1 --plan '" + (folder / "whole.json").string() + "' --out '" + (folder / "whole").string() + "'");
    const bool alike = read_file(first / "clip.mp4") == read_file(folder / "whole/clip.mp4");
    CHECK_FALSE(alike);
    CHECK(json::parse(read_file(folder / "whole/manifest.json"))["film"]["close_ups"].empty());
}

TEST_CASE("Without the covers the same two sessions give exports that differ") {
    TempFolder folder;
    const Visit a(folder.path(), "a", one()), b(folder.path(), "b", other());
    write_short_plan(folder / "plan.json");
    for (const Visit* v : {&a, &b})
        for (const auto& suspect : v->program.parsed("suspects s1"))  // all of it unscanned: a person watched it
            v->program.done("decide s1 " + suspect["id"].get<std::string>() + " --harmless --reason 'words of a test'");
    const fs::path first = a.render(folder / "plan.json"), second = b.render(folder / "plan.json");
    CHECK_FALSE(difference(first, second).empty());
    const bool alike = read_file(first / "clip.mp4") == read_file(second / "clip.mp4");
    CHECK_FALSE(alike);
}

TEST_CASE("What nobody has looked at is wholly covered and hushed: nothing of it is in the film") {
    TempFolder folder;
    // Nothing alike but size, length and rate.
    const Visit a(folder.path(), "a", one()), b(folder.path(), "b", {"SOMETHING ELSE", "0x204080", 77, 220, 2000, ""});
    write_short_plan(folder / "plan.json");
    const fs::path first = a.render(folder / "plan.json"), second = b.render(folder / "plan.json");
    CHECK(difference(first, second).empty());
    // As soon as a person stands for one of them, it shows.
    for (const auto& suspect : b.program.parsed("suspects s1"))
        b.program.done("decide s1 " + suspect["id"].get<std::string>() + " --harmless --reason 'watched it all'");
    b.program.done("render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "watched").string() + "'");
    const bool alike = read_file(first / "clip.mp4") == read_file(folder / "watched/clip.mp4");
    CHECK_FALSE(alike);
}
