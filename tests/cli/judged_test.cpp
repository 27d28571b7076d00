// What the check of a finished film finds, and a person's judgement of it.
#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

// Photograph and voice that Debian packages carry for tests: opencv-doc, pocketsphinx-testdata.
const char* const kFace = "/usr/share/doc/opencv-doc/examples/data/messi5.jpg";
const char* const kVoice = "/usr/share/pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0870.wav";

// A face in view from 2 s to 4.5 s of it, and a voice from 2.5 s on.
fs::path recording_with_a_face(const fs::path& file) {
    return make_media(file, std::string("-f lavfi -i color=c=0x8a5a48:s=1280x720:r=25:d=8,noise=alls=10:allf=t:all_seed=3 -i ") + kFace + " -i '" + kVoice +
                                "' -filter_complex \"[1]crop=200:260:190:40,scale=-1:420,hflip[f];[0][f]overlay=x=500:y=200:enable='between(t,2,4.5)',format=yuv420p[v];"
                                "[2]atrim=0:4,adelay=2500:all=1,apad=whole_dur=8,aresample=48000[a]\" -map [v] -map [a] -t 8 -c:v ffv1 -g 1 -c:a flac");
}

std::vector<json> by_the_check(const Program& program, const std::string& session = "s1") {
    std::vector<json> out;
    for (const auto& s : program.parsed("suspects " + session))
        if (s["spotter"] == "check of a film") out.push_back(s);
    return out;
}

int judged(const fs::path& folder) {
    const json check = json::parse(read_file(folder / "check.json"));
    int out = 0;
    for (const auto& look : check["looks"]) out += look.value("judged_harmless", 0);
    return out;
}

}  // namespace

TEST_CASE("Somebody in a still alone, upside down, or gone in a moment holds a film back") {
    TempFolder folder;
    const std::string recording = recording_with_a_face(folder / "right.mkv").string();
    struct Case {
        const char* look;
        json passage;
    };
    const json corner = {{"x", 0}, {"y", 0}, {"width", 0.25}, {"height", 0.25}};  // nobody is there; the still shows the whole picture
    const Case cases[] = {{"Faces in stills", {{"close_up", {{"from", corner}}}}}, {"Faces and people", {{"view", {{"turn", 180}}}}}, {"Faces and people", {{"pace", 8}, {"from", "0:01"}, {"until", "0:05"}}}};
    int number = 0;
    for (const auto& [look, more] : cases) {
        const Program program(folder / ("library" + std::to_string(++number)));
        program.done("import --session s1 --ear right '" + recording + "'");
        for (const auto& suspect : program.parsed("suspects s1")) program.done("decide s1 " + suspect["id"].get<std::string>() + " --harmless --reason 'watched in a hurry'");
        program.done("tag s1 drum-visible --at 3");
        json passage = {{"recording", "r1"}, {"ear", "right"}, {"from", "0:02.5"}, {"until", "0:03.5"}};
        passage.update(more);
        const json plan = {{"canalogue_plan", 1}, {"title", "Short"}, {"items", json::array({passage})}};
        write_file(folder / "plan.json", plan.dump());
        const Ran ran = program.run("render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "film").string() + "' --json");
        INFO(more.dump() << ran.out << program.said());
        CHECK(ran.code == 4);
        const json report = json::parse(ran.out);
        bool finding = false;
        for (const auto& each : report["check"]["looks"]) finding = finding || (each["look"] == look && each["outcome"] == "finding");
        CHECK(finding);
        CHECK(report["to_decide"].size() == 1);
        const json manifest = json::parse(read_file(fs::path(report["folder"].get<std::string>()) / "manifest.json"));
        // The manifest claims no look that nothing took.
        CHECK(manifest["identity"]["not_claimed_because"].dump().find("'faces' has not looked at all") != std::string::npos);
    }
}

TEST_CASE("What the check finds in a film is covered from then on, until a person judges it harmless: then it holds no film back") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + recording_with_a_face(folder / "right.mkv").string() + "'");
    // Whoever watched it took the face and the voice for nothing: the check is the second look.
    for (const auto& suspect : program.parsed("suspects s1")) program.done("decide s1 " + suspect["id"].get<std::string>() + " --harmless --reason 'watched in a hurry'");
    write_short_plan(folder / "plan.json", "0:02", "0:06");
    const auto render = [&](const std::string& name) { return "render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / name).string() + "'"; };
    const std::string held = program.refused(4, render("first"));
    CHECK_FALSE(fs::exists(folder / "first"));
    const auto found = by_the_check(program);
    INFO(json(found).dump(1));
    REQUIRE(found.size() == 2);
    const json &face = found[0]["kind"] == "outside" ? found[0] : found[1], &voice = found[0]["kind"] == "outside" ? found[1] : found[0];
    // Where they are in the recording, not in the film.
    CHECK(face["kind"] == "outside");
    CHECK(voice["kind"] == "speech");
    for (const auto& s : found) {
        CHECK(s["decision"] == "open");
        CHECK(s["start"].get<double>() > 1);
        CHECK(s["start"].get<double>() < (s["kind"] == "speech" ? 5 : 3));  // the plan's own line is captioned, and explains what is said until then
        CHECK(s["end"].get<double>() > 4);
        CHECK(s["end"].get<double>() <= 6.6);
        CHECK(held.find(s["id"].get<std::string>()) != std::string::npos);  // the sentence names them
    }
    // Nobody has decided: they are covered, and the film may be made.
    program.done(render("covered"));
    CHECK(judged(folder / "covered") == 0);
    // Only with a reason are they let through, and then they show.
    program.refused(2, "decide s1 " + face["id"].get<std::string>() + " --harmless");
    for (const auto& s : found) program.done("decide s1 " + s["id"].get<std::string>() + " --harmless --reason 'drawn for a test'");
    program.done(render("shown"));
    CHECK(judged(folder / "shown") >= 2);
    CHECK(by_the_check(program).size() == 2);
    const bool alike = read_file(folder / "covered/clip.mp4") == read_file(folder / "shown/clip.mp4");
    CHECK_FALSE(alike);
    // It was said of this time and no other: made longer, it is to be decided anew.
    program.done("adjust s1 " + face["id"].get<std::string>() + " --from 0 --until 7");
    for (const auto& s : by_the_check(program)) CHECK((s["decision"] == "open") == (s["id"] == face["id"]));
    program.done("undo s1");
    // Taken back, a decision speaks for nothing.
    program.done("undo s1");
    program.done("undo s1");
    for (const auto& s : by_the_check(program)) CHECK(s["decision"] == "open");
}

TEST_CASE("Somebody in the picture beside is a suspect of the visit that is shown there, and is asked about once") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "now.mkv", {}).string() + "'");
    program.done("import --session earlier --ear left '" + recording_with_a_face(folder / "earlier.mkv").string() + "'");
    for (const std::string session : {"s1", "earlier"})
        for (const auto& suspect : program.parsed("suspects " + session)) program.done("decide " + session + " " + suspect["id"].get<std::string>() + " --harmless --reason 'watched in a hurry'");
    const json beside = {{"session", "earlier"}, {"recording", "r1"}, {"ear", "left"}, {"meets", "0:03"}, {"with", "0:03"}, {"fill", true}};
    const json plan = {{"canalogue_plan", 1}, {"title", "Two visits"}, {"items", json::array({{{"recording", "r1"}, {"ear", "right"}, {"from", "0:02.5"}, {"until", "0:03.5"}, {"beside", beside}}})}};
    write_file(folder / "plan.json", plan.dump());
    const std::string render = "render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "film").string() + "'";
    program.refused(4, render);
    REQUIRE(by_the_check(program).size() == 1);
    REQUIRE(by_the_check(program, "earlier").size() == 1);
    // Nobody is in this visit's picture; the other stays covered.
    program.done("decide s1 " + by_the_check(program)[0]["id"].get<std::string>() + " --harmless --reason 'nobody is there'");
    program.done(render);
    CHECK(by_the_check(program).size() == 1);
    // And with both judged it is shown.
    program.done("decide earlier " + by_the_check(program, "earlier")[0]["id"].get<std::string>() + " --harmless --reason 'drawn for a test'");
    program.done(render + " --replace");
    CHECK(judged(folder / "film") >= 1);
}
