// What a learner and a publisher get of an export, asked for as a person would.
#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

struct Visit {
    Visit() {
        program.done("import --session s1 --ear right '" + draw_recording(folder / "a.mkv", {}).string() + "'");
        write_short_plan(folder / "plan.json", "0:02.5", "0:05", false);
        plan = json::parse(read_file(folder / "plan.json"));
        plan["about"] = {{"made_by", "a harbour-town clinic"}, {"aims", {"See the drum"}}, {"outcome", "The canal is clear."}};
    }
    std::string file() const {
        write_file(folder / "plan.json", plan.dump());
        return "'" + (folder / "plan.json").string() + "'";
    }
    TempFolder folder;
    Program program{folder / "library"};
    json plan;
};

}  // namespace

TEST_CASE("Looking a plan over tells the marks of its film, what is missing, and which question nobody could answer") {
    Visit v;
    const std::string said = v.program.done("plan s1 --check " + v.file());
    CHECK(said.find("What a good film of a procedure shows: 11 of 18\n") != std::string::npos);
    CHECK(said.find("0  History and findings, without identifiers. Missing: the history in the case text") != std::string::npos);
    CHECK(v.program.said().find("left out") == std::string::npos);
    v.plan["items"][1]["close_up"] = {{"from", {{"x", 0.5}, {"y", 0.5}, {"width", 0.5}, {"height", 0.5}}}};
    v.plan["items"][1]["questions"] = json::array({{{"at", "0:03"}, {"asks", "Where?"}, {"spot", {{"x", 0}, {"y", 0}, {"width", 0.1}, {"height", 0.1}}}}});
    CHECK(v.program.done("plan s1 --check " + v.file()).find("12 of 18") != std::string::npos);
    CHECK(v.program.said().find("The question at 0:03 in item 2 is left out of the case page: its spot is not in view there") != std::string::npos);
}

TEST_CASE("A teaching set is made of exports for learners, and of none that may show who somebody is") {
    Visit v;
    const fs::path course = v.folder / "course";
    v.program.done("render s1 --plan " + v.file() + " --out '" + (course / "one").string() + "'");
    for (const char* name : {"case.html", "handout.pdf", "publishing/title.txt", "publishing/description.txt", "publishing/thumbnail.jpg", "publishing/checklist.txt"}) CHECK(fs::exists(course / "one" / name));
    CHECK(read_file(course / "one/case.html").find("The canal is clear.") != std::string::npos);
    const std::string set = "set --title 'Ears, week 1' --out '" + course.string() + "' '" + (course / "one").string() + "'";
    CHECK(v.program.done(set).find("(1 case)") != std::string::npos);
    CHECK(read_file(course / "index.html").find("href=\"one/case.html\"") != std::string::npos);
    v.program.done("render s1 --plan " + v.file() + " --audience care --reason 'second opinion' --out '" + (course / "two").string() + "'");
    CHECK_FALSE(fs::exists(course / "two/publishing"));
    CHECK(read_file(course / "two/case.html").find("Identifiable: for the care team only") != std::string::npos);
    CHECK(v.program.refused(4, set + " '" + (course / "two").string() + "'").find("'two' may show who somebody is") != std::string::npos);
    CHECK(v.program.refused(2, "set --out '" + course.string() + "' '" + v.folder.path().string() + "'").find("no finished export") != std::string::npos);
    CHECK(read_file(course / "index.html").find("1 case, ") != std::string::npos);  // as it was
}
