#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

struct Session {
    Session() : program(folder / "library") {
        program.done("import --session s1 --ear right '" + draw_recording(folder / "a.mkv", {}).string() + "'");
        voice = make_media(folder / "line.wav", "-f lavfi -i \"aevalsrc='between(t,1,2.5)*0.3*sin(2*PI*300*t)':s=44100:d=4\"");
    }
    std::string write_plan(const std::string& narration) const {
        const fs::path file = folder / "plan.json";
        write_file(file, R"({"canalogue_plan":1,"items":[{"recording":"r1","ear":"right","from":"1","until":"3.5","narration":)" + narration + "}]}");
        return "'" + file.string() + "'";
    }
    TempFolder folder;
    Program program;
    fs::path voice;
};

}  // namespace

TEST_CASE("A recorded take says its line in the film, with captions, and is nowhere in the library in the clear") {
    Session s;
    s.program.done("take s1 --file '" + s.voice.string() + "' --says 'The canal is clear.'");
    const json list = s.program.parsed("takes s1");
    REQUIRE(list.size() == 1);
    CHECK(list[0]["seconds"].get<double>() == Approx(1.5 + 0.46).margin(0.06));  // its silent ends are gone
    for (const auto& [name, bytes] : files_under(s.program.library())) {
        INFO(name);
        CHECK(bytes.find("The canal is clear") == std::string::npos);
        // Samples of a pause are near zero; sealed bytes are of every value alike.
        if (name.find("takes/") == 0) CHECK(std::count(bytes.begin(), bytes.end(), '\0') < static_cast<std::ptrdiff_t>(bytes.size() / 64));
    }
    const fs::path out = s.folder / "out";
    s.program.done("render s1 --plan " + s.write_plan(R"([{"says":"The canal is clear.","take":"t1"}])") + " --out '" + out.string() + "'");
    CHECK(read_file(out / "clip.vtt").find("The canal is clear.") != std::string::npos);
    // The tone of the take, 300 Hz, is what is heard; the draft voice has hardly any of it alone.
    const Ran heard = try_run("ffmpeg -hide_banner -i '" + (out / "clip.mp4").string() + "' -af 'bandpass=f=300:width_type=h:w=40,volumedetect' -f null - 2>&1");
    const auto at = heard.out.find("mean_volume: ");
    REQUIRE(at != std::string::npos);
    CHECK(std::stod(heard.out.substr(at + 13)) > -25);
}

TEST_CASE("A plan with a take that is not there is refused, a dropped take comes back with undo") {
    Session s;
    const std::string plan = s.write_plan(R"([{"says":"The canal is clear.","take":"t1"}])");
    CHECK(s.program.refused(2, "plan s1 --check " + plan).find("take 't1'") != std::string::npos);
    s.program.done("take s1 --file '" + s.voice.string() + "' --says 'The canal is clear.'");
    s.program.done("plan s1 --check " + plan);
    s.program.done("take s1 --drop t1");
    s.program.refused(2, "plan s1 --check " + plan);
    s.program.done("undo s1");
    s.program.done("plan s1 --check " + plan);
}

TEST_CASE("A file without sound, a silent one and a line without words are no takes") {
    Session s;
    const fs::path silent = make_media(s.folder / "silent.wav", "-f lavfi -i anullsrc=d=2");
    write_file(s.folder / "words.wav", "no sound at all");
    CHECK(s.program.refused(2, "take s1 --file '" + silent.string() + "' --says 'One.'").find("Nobody can be heard") != std::string::npos);
    s.program.refused(3, "take s1 --file '" + (s.folder / "words.wav").string() + "' --says 'One.'");
    s.program.refused(3, "take s1 --file '" + (s.folder / "nothing.wav").string() + "' --says 'One.'");
    s.program.refused(2, "take s1 --file '" + s.voice.string() + "'");
    CHECK(s.program.refused(2, "plan s1 --check " + s.write_plan(R"([{"take":"t1"}])")).find("'says'") != std::string::npos);
    CHECK(s.program.parsed("takes s1").empty());
}
