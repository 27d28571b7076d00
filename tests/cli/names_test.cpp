#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

struct Session {
    Session() : program(folder / "library") {
        file = draw_recording(folder / "a.mkv", {});
        program.done("import --session s1 --ear right '" + file.string() + "'");
    }
    TempFolder folder;
    Program program;
    fs::path file;
};

}  // namespace

TEST_CASE("What was read is shown to whoever has the passphrase, and to nobody else") {
    Session s;
    const std::string secret = "CANALOGUE_PASSPHRASE='a test passphrase'";
    s.program.done("known s1 Brackwater", secret);
    s.program.done("scan s1");
    CHECK(s.program.done("suspects s1").find("HARBOUR") == std::string::npos);
    CHECK(s.program.done("suspects s1", secret).find("HARBOUR") == std::string::npos);
    CHECK(s.program.done("suspects s1 --words", secret).find("HARBOUR") != std::string::npos);
    CHECK(s.program.run("suspects s1 --words", "CANALOGUE_PASSPHRASE='another passphrase'").code != 0);
}

TEST_CASE("A film that was compared with nothing says so, and never claims that nobody can be recognised") {
    Session s;
    const fs::path plan = s.folder / "plan.json", out = s.folder / "out";
    write_short_plan(plan, "0:02.5", "0:03", false);
    s.program.done("render s1 --plan '" + plan.string() + "' --out '" + out.string() + "'");
    CHECK(s.program.said().find("not compared with known identifiers (none is sealed") != std::string::npos);
    CHECK(s.program.said().find("out of the ear") != std::string::npos);
    const json manifest = json::parse(read_file(out / "manifest.json"));
    CHECK(manifest["identity"]["patient_identity_removed"] == "NO");
    CHECK(manifest["identity"]["not_claimed_because"].dump().find("known identifiers") != std::string::npos);
}

TEST_CASE("A sealed name in the plan's title holds the export back") {
    Session s;
    const std::string secret = "CANALOGUE_PASSPHRASE='a test passphrase'";
    s.program.done("known s1 Brackwater", secret);
    const fs::path plan = s.folder / "plan.json", out = s.folder / "out";
    write_file(plan, R"({"canalogue_plan":1,"title":"Case of Mr Brackwater","items":[{"recording":"r1","ear":"right","from":"1","until":"1.5"}]})");
    CHECK(s.program.run("render s1 --plan '" + plan.string() + "' --out '" + out.string() + "'", secret).code == 4);
    CHECK_FALSE(fs::exists(out));
}

TEST_CASE("Without the passphrase a session with a sealed name gives no film for strangers, unless one says so") {
    Session s;
    const std::string secret = "CANALOGUE_PASSPHRASE='a test passphrase'";
    s.program.done("known s1 'Greta Brackwater'", secret);
    const fs::path plan = s.folder / "plan.json", out = s.folder / "out";
    write_short_plan(plan, "0:02.5", "0:03", false);
    const std::string render = "render s1 --plan '" + plan.string() + "' --out '" + out.string() + "'";
    CHECK(s.program.refused(4, render).find("sealed for this session (1)") != std::string::npos);
    CHECK_FALSE(fs::exists(out));
    s.program.done(render + " --names-unchecked");
    CHECK(read_file(out / "manifest.json").find("known identifiers") != std::string::npos);
}

TEST_CASE("A plan's words are compared with what is sealed before any film is made: parts, split lines, spoken digits") {
    Session s;
    const std::string secret = "CANALOGUE_PASSPHRASE='a test passphrase'";
    s.program.done("known s1 'Greta Brackwater' 'TEST 0048213'", secret);
    const fs::path plan = s.folder / "plan.json";
    const auto with = [&](const std::string& narration) {
        write_file(plan, R"({"canalogue_plan":1,"items":[{"recording":"r1","ear":"right","from":"1","until":"2","narration":)" + narration + "}]}");
        return s.program.run("plan s1 --check '" + plan.string() + "'", secret).code;
    };
    CHECK(with(R"(["The canal is clear."])") == 0);
    CHECK(with(R"(["Now Mrs Brackwater can hear."])") == 4);
    CHECK(s.program.said().find("the narration of item 1 (part of a known identifier)") != std::string::npos);
    CHECK(with(R"(["This is Greta Brack","water and her ear."])") == 4);
    CHECK(with(R"(["Her number: oh oh four eight two one three."])") == 4);
}

TEST_CASE("What was read as the patient's name is not uncovered with the rest, as long as the passphrase is there") {
    Session s;
    const std::string secret = "CANALOGUE_PASSPHRASE='a test passphrase'";
    s.program.done("known s1 'HARBOUR ONE'", secret);  // what is burnt into the recording
    s.program.done("scan s1");
    const std::string decide = "decide s1 all --harmless --reason 'a device label'";
    CHECK(s.program.run(decide, secret).code == 4);
    CHECK(s.program.parsed("suspects s1")[0]["decision"] == "open");
    s.program.done(decide + " --although-named", secret);
    CHECK(s.program.parsed("suspects s1")[0]["decision"] == "harmless");
}

TEST_CASE("A name that takes the place of harmless words for a second is not judged with them") {
    TempFolder folder;
    Program program(folder / "library");
    const fs::path file = folder / "a.mkv";
    make_media(file, "-f lavfi -i \"color=c=0x8a5a48:s=640x360:r=25:d=22,noise=alls=14:allf=t:all_seed=5,"
                     "drawtext=fontfile=/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf:text='ZOOM FOUR':x=40:y=36:fontsize=26:fontcolor=white:enable='not(between(t,10,11))',"
                     "drawtext=fontfile=/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf:text='PELLWORM G':x=40:y=36:fontsize=26:fontcolor=white:enable='between(t,10,11)',format=yuv420p\" -c:v ffv1 -g 1");
    program.done("import --session s1 --ear right '" + file.string() + "'");
    const std::string secret = "CANALOGUE_PASSPHRASE='a test passphrase'";
    program.done("known s1 'Somebody Else'", secret);
    program.done("scan s1");
    const json all = json::parse(program.done("suspects s1 --words --json", secret));
    int harmless = 0, named = 0;
    for (const auto& x : all) {
        const std::string words = x.value("words", json::array()).dump();
        harmless += words.find("ZOOM") != std::string::npos && words.find("PELL") == std::string::npos;
        if (words.find("PELL") == std::string::npos) continue;
        ++named;
        CHECK(words.find("ZOOM") == std::string::npos);
        CHECK(x["start"].get<double>() <= 10);
        CHECK(x["end"].get<double>() >= 11);
    }
    CHECK(named == 1);
    CHECK(harmless >= 1);
}
