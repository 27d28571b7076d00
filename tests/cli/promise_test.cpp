// Promises 1, 2, 3, 5 and 8 of docs/architecture.md, on the real program.
#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"

using namespace canalogue::test;

namespace {

// Imports, covers by hand, tags and scans. With `covers` false the suspects are judged harmless instead.
void prepare(const Program& p, const fs::path& film, bool covers) {
    p("import --session s1 --ear right " + quoted(film));
    p("tag s1 drum-visible --at 2.5 --set view=all");
    p("tag s1 referral --at 4 --set to=audiology");
    p("scan s1");
    if (covers) {
        p("cover s1 --box 40,40,400,64 --from 0.5 --until 5.5");
        p("cover s1 --sound --from 2 --until 3");
    } else {
        p("decide s1 all --harmless --reason 'test pattern'");
    }
}

void with_original_sound(const fs::path& plan) {
    json j = json::parse(read_file(plan));
    j["film"]["original_sound"] = true;
    write_file(plan, j.dump());
}

std::map<std::string, std::string> rendered(const Program& p, const fs::path& plan) {
    p("render s1 --plan " + quoted(plan) + " --out " + quoted(p.folder / "out"));
    return files_under(p.folder / "out");
}

}  // namespace

TEST_CASE("Two sessions that differ only under covers give byte-identical exports, file by file") {
    Program a, b;
    prepare(a, lossless_session(a.folder / "Brackwater A 0048213.mkv", "BRACKWATER ALDOUS", 900, "Brackwater, Aldous"), true);
    prepare(b, lossless_session(b.folder / "x.mkv", "VO ANN", 1700, ""), true);
    a("plan s1 --draft -o " + quoted(a.folder / "plan.json"));
    with_original_sound(a.folder / "plan.json");
    const auto first = rendered(a, a.folder / "plan.json"), second = rendered(b, a.folder / "plan.json");
    REQUIRE(first.size() > 8);
    REQUIRE(first.size() == second.size());
    for (const auto& [name, bytes] : first) {
        CAPTURE(name);
        REQUIRE(second.count(name) == 1);
        CHECK((bytes == second.at(name)));
    }
}

TEST_CASE("The comparison can fail: judged harmless, the same two sessions give other films") {
    Program a, b;
    prepare(a, lossless_session(a.folder / "a.mkv", "BRACKWATER ALDOUS", 900, "t"), false);
    prepare(b, lossless_session(b.folder / "b.mkv", "VO ANN", 1700, "t"), false);
    a("plan s1 --draft -o " + quoted(a.folder / "plan.json"));
    CHECK_FALSE((rendered(a, a.folder / "plan.json").at("clip.mp4") == rendered(b, a.folder / "plan.json").at("clip.mp4")));
}

TEST_CASE("Unscanned means covered: nothing of the picture is shown, and a watched span is") {
    Program p;
    p("import --session s1 --ear right " + quoted(lossless_session(p.folder / "a.mkv", "BRACKWATER", 900, "")));
    p("tag s1 drum-visible --at 2.5");
    p("plan s1 --draft -o " + quoted(p.folder / "plan.json"));
    p("render s1 --plan " + quoted(p.folder / "plan.json") + " --out " + quoted(p.folder / "out"));
    const json manifest = json::parse(read_file(p.folder / "out/manifest.json"));
    CHECK(manifest["identity"]["covered"]["seconds_wholly_covered"].get<double>() > 3);
    const auto lines = p.parsed("suspects s1 --json");
    REQUIRE(lines.size() == 2);  // one for each required spotter
    for (const auto& line : lines) p("decide s1 " + line["id"].get<std::string>() + " --harmless --reason 'watched it: a test pattern'");
    p("render s1 --plan " + quoted(p.folder / "plan.json") + " --out " + quoted(p.folder / "out") + " --replace");
    CHECK(json::parse(read_file(p.folder / "out/manifest.json"))["identity"]["covered"]["seconds_wholly_covered"].get<double>() == 0);
}

TEST_CASE("Originals are never written, and no name of theirs stands in the library or the export") {
    Program p;
    const auto film = lossless_session(p.folder / "Brackwater A 0048213.mkv", "BRACKWATER ALDOUS", 900, "Brackwater, Aldous");
    const std::string before = read_file(film);
    prepare(p, film, true);
    p("tag s1 advice --at 3 --note 'Mr Brackwater asked about drops' --set words='for Brackwater'");
    run("CANALOGUE_PASSPHRASE='a test passphrase' " + p.command("known s1 Brackwater 'TEST 0048213'"));
    p("plan s1 --draft -o " + quoted(p.folder / "plan.json"));
    const auto out = rendered(p, p.folder / "plan.json");
    CHECK(read_file(film) == before);
    auto holds_name = [](const std::string& bytes) {
        std::string low;
        for (char c : bytes) low += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        return low.find("brackwater") != std::string::npos || low.find("0048213") != std::string::npos;
    };
    for (const auto& [name, bytes] : files_under(p.library())) {
        CAPTURE(name);
        CHECK_FALSE(holds_name(name));
        CHECK_FALSE(holds_name(bytes));
    }
    for (const auto& [name, bytes] : out) {
        CAPTURE(name);
        CHECK_FALSE(holds_name(bytes));
    }
    CHECK(p("show s1").find("Mr Brackwater asked about drops") != std::string::npos);  // the clinician still reads it
}

TEST_CASE("Ctrl-C during a render leaves nothing behind") {
    Program p;
    prepare(p, lossless_session(p.folder / "a.mkv", "", 900, ""), true);
    p("plan s1 --draft -o " + quoted(p.folder / "plan.json"));
    const std::string command = p.command("render s1 --plan " + quoted(p.folder / "plan.json") + " --out " + quoted(p.folder / "exports/out"));
    const Ran ran = try_run(command + " & pid=$!; sleep 1.5; kill -INT $pid; wait $pid");
    CHECK(ran.code == 130);
    CHECK(files_under(p.folder / "exports").empty());
}

TEST_CASE("The clip is at -16 LUFS with true peaks under -1 dBTP, by ffmpeg's own meter") {
    Program p;
    prepare(p, lossless_session(p.folder / "a.mkv", "", 900, ""), true);
    p("plan s1 --draft -o " + quoted(p.folder / "plan.json"));
    rendered(p, p.folder / "plan.json");
    // Source: the ebur128 filter of the ffmpeg program (EBU R 128).
    const std::string said = run("ffmpeg -nostdin -hide_banner -i " + quoted(p.folder / "out/clip.mp4") + " -map 0:a -filter:a ebur128=peak=true -f null -");
    const std::string summary = said.substr(said.rfind("Summary:"));
    const auto number = [&](const std::string& after) { return std::stod(summary.substr(summary.find(after) + after.size())); };
    CHECK(number("I:") == Approx(-16).margin(0.5));
    CHECK(number("Peak:") <= -1.0);
}
