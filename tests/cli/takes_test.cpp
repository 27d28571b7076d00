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
    CHECK(s.program.refused(3, "take s1 --file '" + (s.folder / "words.wav").string() + "' --says 'One.'").find("take's file has no sound") != std::string::npos);
    CHECK(s.program.refused(3, "take s1 --file '" + (s.folder / "nothing.wav").string() + "' --says 'One.'").find("no such sound file") != std::string::npos);
    s.program.refused(2, "take s1 --file '" + s.voice.string() + "'");
    CHECK(s.program.refused(2, "plan s1 --check " + s.write_plan(R"([{"take":"t1"}])")).find("'says'") != std::string::npos);
    CHECK(s.program.parsed("takes s1").empty());
}

TEST_CASE("Captions in the film's own language, of another film, or that are not there are refused before anything is encoded") {
    Session s;
    write_file(s.folder / "other.srt", "1\n00:59:01,000 --> 00:59:02,000\nMae'r glust yn lan.\n");
    const std::string plan = s.write_plan(R"(["The canal is clear."])"), out = (s.folder / "out").string();
    const auto with = [&](const std::string& captions) { return s.program.refused(2, "render s1 --plan " + plan + " --out '" + out + "' --captions-also " + captions); };
    const std::string other = (s.folder / "other.srt").string();
    for (const char* own : {"en-GB", "en", "EN-gb"}) CHECK(with(own + ("='" + other) + "'").find("The film itself is in 'en-GB'") != std::string::npos);
    CHECK(with("cy='" + other + "'").find("timed for another film") != std::string::npos);
    CHECK(with("cy='" + (s.folder / "nothing.srt").string() + "'").find("nothing.srt") != std::string::npos);
    CHECK_FALSE(fs::exists(out));
    for (const auto& entry : fs::directory_iterator(s.folder.path())) CHECK(entry.path().filename().string().find(".part-") == std::string::npos);
}

// Source of the voice: flite, a synthesiser of its own.
TEST_CASE("A take that says a sealed name is told of when it is kept, and refused in a film for learners") {
    const Session s;
    const fs::path slip = s.folder / "slip.wav";
    run("flite -voice rms -t 'This is the canal of missus Thirza Quennelle.' -o '" + slip.string() + "'");
    write_file(s.folder / "pass.txt", "sand and shells\n");
    const std::string pass = " --passphrase-file '" + (s.folder / "pass.txt").string() + "'";
    s.program.done("known s1 'Thirza Quennelle'" + pass);
    s.program.done("take s1 --file '" + slip.string() + "' --says 'This is the canal.'" + pass);
    const std::string told = s.program.said();
    CHECK(told.find("known identifier may be said at 0:0") != std::string::npos);
    CHECK(told.find("Quennelle") == std::string::npos);
    s.program.done("take s1 --file '" + s.voice.string() + "' --says 'The canal is clear.'" + pass);
    const std::string plan = s.write_plan(R"([{"says":"This is the canal.","take":"t1"}])");
    const std::string out = (s.folder / "film").string();
    const std::string why = s.program.refused(4, "render s1 --plan " + plan + " --out '" + out + "'" + pass);
    CHECK(why.find("take t1, in which a known identifier is heard at 0:0") != std::string::npos);
    CHECK_FALSE(fs::exists(out));
    s.program.done("plan s1 --check " + s.write_plan(R"([{"says":"The canal is clear.","take":"t2"}])") + pass);
}

TEST_CASE("A list of which nothing can be heard keeps no take back") {
    Session s;
    write_file(s.folder / "pass.txt", "sand and shells\n");
    const std::string pass = " --passphrase-file '" + (s.folder / "pass.txt").string() + "'";
    s.program.done("known s1 417" + pass);
    s.program.done("take s1 --file '" + s.voice.string() + "' --says 'The canal is clear.'" + pass);
    s.program.done("plan s1 --check " + s.write_plan(R"([{"says":"The canal is clear.","take":"t1"}])") + pass);
}

TEST_CASE("A sealed name that is said in the room is told beside the stretch of speech, to whoever has the passphrase") {
    const TempFolder folder;
    const Program program(folder / "library");
    run("flite -voice slt -t 'Good morning. My name is Thirza Quennelle and it is the left ear.' -o '" + (folder / "said.wav").string() + "'");
    const fs::path film = make_media(folder / "a.mkv", "-i '" + draw_recording(folder / "quiet.mkv", {}).string() + "' -i '" + (folder / "said.wav").string() + "' -filter_complex [1:a]adelay=1000,apad=whole_dur=6[a] -map 0:v -map [a] -c:v copy -c:a pcm_s16le");
    write_file(folder / "pass.txt", "sand and shells\n");
    const std::string pass = " --passphrase-file '" + (folder / "pass.txt").string() + "'";
    program.done("import --session s1 --ear left '" + film.string() + "'");
    program.done("known s1 'Thirza Quennelle'" + pass);
    const std::string scanned = program.done("scan s1" + pass);
    INFO(scanned);
    const json speech = [&] {
        for (const auto& line : json::parse(program.done("suspects s1 --words --json" + pass)))
            if (line["kind"] == "speech") return line;
        return json();
    }();
    if (speech.is_null()) {
        WARN("the speech spotter's model is missing: names in the room were NOT tested");
        return;
    }
    INFO(speech.dump());
    CHECK(scanned.find("something was heard") != std::string::npos);
    const std::string heard = speech["words"].dump();
    CHECK(heard.find("Thirza Quennelle") != std::string::npos);
    CHECK(heard.find("'my name is'") != std::string::npos);
    CHECK(program.refused(4, "decide s1 " + speech["id"].get<std::string>() + " --harmless --reason 'Only a greeting.' --by tester" + pass).find("known identifier") != std::string::npos);
    for (const auto& [name, bytes] : files_under(program.library())) {
        INFO(name);
        CHECK(bytes.find("Quennelle") == std::string::npos);
    }
}
