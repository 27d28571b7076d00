#include "tests/cli/program.hpp"

using namespace canalogue::test;

TEST_CASE("Size, target and format are given for one render, and everything in the export follows the film's name") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "a.mkv", {}).string() + "'");
    program.done("tag s1 drum-visible --at 0:03");
    write_short_plan(folder / "plan.json", "0:02.5", "0:03.5");
    const std::string render = "render s1 --plan '" + (folder / "plan.json").string() + "' ";
    program.done(render + "--format webm --size 720x1280 --target master --out '" + (folder / "webm").string() + "'");
    CHECK(fs::exists(folder / "webm/clip.webm"));
    CHECK_FALSE(fs::exists(folder / "webm/clip.mp4"));
    const json manifest = json::parse(read_file(folder / "webm/manifest.json"));
    CHECK(manifest["film"]["file"] == "clip.webm");
    CHECK(manifest["film"]["width"] == 720);
    CHECK(manifest["film"]["height"] == 1280);
    CHECK(manifest["film"]["target"] == "master");
    CHECK(json::parse(read_file(folder / "webm/events.jsonld")).dump().find("clip.webm") != std::string::npos);
    const json check = json::parse(read_file(folder / "webm/check.json"));
    CHECK(check["passed"] == true);
    CHECK(check.dump().find("Tags and streams") != std::string::npos);
    CHECK(run("ffprobe -v error -show_entries format_tags=encoder -of csv=p=0 '" + (folder / "webm/clip.webm").string() + "'") == "Lavf\n");

    program.done(render + "--target message --megabytes 0.5 --out '" + (folder / "message").string() + "'");
    CHECK(fs::file_size(folder / "message/clip.mp4") <= 500'000);
    CHECK(json::parse(read_file(folder / "message/manifest.json"))["film"]["target"] == "message");
    for (const char* wrong : {"--size 640x480", "--target tape", "--format avi", "--target message --megabytes 0.01"}) {
        INFO(wrong);
        program.refused(2, render + wrong + " --out '" + (folder / "wrong").string() + "'");
        CHECK_FALSE(fs::exists(folder / "wrong"));
    }
}

TEST_CASE("A make-up is kept from one case's plan and given to the draft of the next") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "a.mkv", {}).string() + "'");
    program.done("tag s1 drum-visible --at 0:03");
    const auto in = [&](const std::string& name) { return "'" + (folder / name).string() + "'"; };
    write_short_plan(folder / "plan.json");
    json plan = json::parse(read_file(folder / "plan.json"));
    plan["film"]["size"] = "1080x1080";
    plan["about"] = {{"made_by", "Harbour clinic"}};
    plan["items"].insert(plan["items"].begin(), json::object({{"card", "warning"}, {"title", "A little blood is seen"}, {"length", "0:03"}}));
    write_file(folder / "plan.json", plan.dump());
    program.done("plan s1 --check " + in("plan.json") + " --keep-make-up " + in("make-up.json"));
    program.done("plan s1 --draft --make-up " + in("make-up.json") + " -o " + in("next.json"));
    const json next = json::parse(read_file(folder / "next.json"));
    CHECK(next["film"]["size"] == "1080x1080");
    CHECK(next["about"]["made_by"] == "Harbour clinic");
    CHECK(next["items"][0]["card"] == "warning");
    CHECK(next["items"][0]["title"] == "A little blood is seen");
    CHECK(next["items"][1]["card"] == "title");
    CHECK(next["items"].back()["title"] == "Outcome");
    program.refused(2, "plan s1 --draft --make-up " + in("none.json"));
    program.refused(2, "plan s1 --make-up " + in("make-up.json"));
    program.refused(2, "plan s1 --keep-make-up " + in("again.json"));  // no plan is kept with the session
}
