#include "tests/cli/program.hpp"

#include <regex>

using namespace canalogue::test;

namespace {

constexpr const char* kName = "Brackwater";

// Files that hold the name, in any case, as UTF-8 or UTF-16, or in their own name.
std::vector<std::string> leaks(const fs::path& folder, std::string name) {
    const auto low = [](std::string text) {
        std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
        return text;
    };
    name = low(name);
    std::string wide;
    for (char c : name) wide += std::string{c, '\0'};
    std::vector<std::string> out;
    for (const auto& [file, bytes] : files_under(folder)) {
        const std::string all = low(bytes);
        if (low(file).find(name) != std::string::npos || all.find(name) != std::string::npos || all.find(wide) != std::string::npos) out.push_back(file);
    }
    return out;
}

double number_after(const std::string& text, const std::string& words) {
    const auto at = text.rfind(words);
    REQUIRE(at != std::string::npos);
    return std::stod(text.substr(at + words.size()));
}

// The npm package webvtt-parser judges a file; empty when it has nothing to say against it.
std::string judged(const fs::path& tools, const fs::path& file) {
    write_file(tools / "judge.mjs", "import fs from 'fs'; import { createRequire } from 'module'; const require = createRequire(import.meta.url);"
                                    "const { WebVTTParser } = require('webvtt-parser');"
                                    "const kind = process.argv[3]; const r = new WebVTTParser().parse(fs.readFileSync(process.argv[2], 'utf8'), kind);"
                                    "for (const e of r.errors) console.log(`line ${e.line}: ${e.message}`); if (!r.cues.length) console.log('no cues');");
    const std::string kind = file.stem() == "clip" ? "subtitles/captions/descriptions" : file.stem() == "chapters" ? "chapters" : "metadata";
    return try_run("cd '" + tools.string() + "' && node judge.mjs '" + file.string() + "' '" + kind + "'").out;
}

bool npm_parser_ready(const fs::path& tools) {
    if (fs::exists(tools / "node_modules/webvtt-parser")) return true;
    fs::create_directories(tools);
    return try_run("cd '" + tools.string() + "' && npm install --no-audit --no-fund --silent webvtt-parser@2.2.0").code == 0 && fs::exists(tools / "node_modules/webvtt-parser");
}

}  // namespace

TEST_CASE("A whole job leaves the recordings untouched, no name in the clear, and a film of the promised loudness") {
    TempFolder folder;
    const Program program(folder / "library");
    const fs::path recording = draw_recording(folder / (std::string(kName) + " 2026.mkv"), {"BRACKWATER", "0x8a5a48", 5, 440, 900, kName});
    const std::string before = read_file(recording);
    const auto changed = fs::last_write_time(recording);
    const std::string secret = "CANALOGUE_PASSPHRASE='a passphrase of the test'";

    program.done("import --session s1 --ear right '" + recording.string() + "'");
    program.done("tag s1 blockage-found --at 0:02.6 --set material='hard wax' --note 'sister of Brackwater'");
    program.done("tag s1 advice --at 0:03.5 --set topic='keep dry' --set words='ring Brackwater' ");
    program.done("scan s1");
    program.done("cover s1 --box 0,0,560,130 --from 0 --until 8 --reason 'says Brackwater'");
    program.done("known s1 Brackwater 'TEST 0048213'", secret);
    write_short_plan(folder / "plan.json");
    program.done("render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "export").string() + "'", secret);
    program.done("check '" + (folder / "export").string() + "' --session s1", secret);
    program.done("confirm s1");

    const bool untouched = read_file(recording) == before;
    CHECK(untouched);
    CHECK(fs::last_write_time(recording) == changed);
    CHECK(leaks(folder / "library", kName).empty());
    CHECK(leaks(folder / "export", kName).empty());
    CHECK(leaks(folder / "library", "0048213").empty());
    write_file(folder / "export-like", kName);  // the search itself finds what is there
    CHECK(leaks(folder.path(), kName).size() >= 2);

    // Every word is still there for who holds the library.
    CHECK(program.done("show s1").find("sister of Brackwater") != std::string::npos);
    CHECK(program.done("known s1").find("2 identifiers are sealed") != std::string::npos);

    // Measured by another program: ffmpeg's own meter.
    const std::string measured = run("ffmpeg -nostdin -hide_banner -i '" + (folder / "export/clip.mp4").string() + "' -af ebur128=peak=true -f null - 2>&1");
    CHECK(number_after(measured, "I: ") == Approx(-16).margin(0.5));
    CHECK(number_after(measured, "Peak: ") <= -1.0);

    // And the film is what it says it is.
    const json film = json::parse(run("ffprobe -v error -of json -show_streams -show_format '" + (folder / "export/clip.mp4").string() + "'"));
    int pictures = 0;
    for (const auto& s : film["streams"])
        if (s["codec_type"] == "video") {
            ++pictures;
            CHECK(s["codec_name"] == "h264");
            CHECK(s["width"] == 1280);
            CHECK(s["height"] == 720);
            CHECK(s["avg_frame_rate"] == "25/1");
            CHECK(s["color_space"] == "bt709");
        }
    CHECK(pictures == 1);
    CHECK_FALSE(film["format"].value("tags", json::object()).contains("encoder"));

    // The manifest's hashes are those of the files, by another program.
    const json manifest = json::parse(read_file(folder / "export/manifest.json"));
    const std::string sums = run("cd '" + (folder / "export").string() + "' && find . -type f ! -name manifest.json -exec sha256sum {} +");
    const std::string listed = manifest.dump();
    static const std::regex kSum("([0-9a-f]{64})");
    int compared = 0;
    for (std::sregex_iterator it(sums.begin(), sums.end(), kSum), end; it != end; ++it, ++compared) CHECK(listed.find((*it)[1]) != std::string::npos);
    CHECK(compared >= 7);

    const fs::path tools = fs::path(CANALOGUE_BUILD_DIR) / "webvtt";
    if (try_run("command -v npm && command -v node").code != 0 || !npm_parser_ready(tools)) {
        WARN("SKIPPED: npm cannot give webvtt-parser here, so no outside parser read the captions");
    } else {
        for (const char* name : {"clip.vtt", "chapters.vtt", "events.vtt"}) {
            INFO(name << "\n" << read_file(folder / ("export/" + std::string(name))));
            CHECK(judged(tools, folder / ("export/" + std::string(name))) == "");
        }
        write_file(folder / "clip.vtt", "WEBVTT\n\n00:01,000 --> 00:02.000\nx\n");  // it can say no
        CHECK(judged(tools, folder / "clip.vtt") != "");
    }
}

TEST_CASE("A film for the care team needs a reason and says on every frame whom it is for") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "a.mkv", {}).string() + "'");
    write_short_plan(folder / "plan.json", "0:02.5", "0:04", false);
    const std::string render = "render s1 --plan '" + (folder / "plan.json").string() + "' --audience care --out '" + (folder / "export").string() + "'";
    CHECK(program.refused(4, render).find("--reason") != std::string::npos);
    CHECK_FALSE(fs::exists(folder / "export"));
    program.done(render + " --reason 'second opinion'");
    if (try_run("command -v tesseract").code != 0) {
        WARN("SKIPPED: no tesseract program to read the frames");
        return;
    }
    for (const char* time : {"0.2", "1.5", "2.3"}) {
        run("ffmpeg -nostdin -v error -y -ss " + std::string(time) + " -i '" + (folder / "export/clip.mp4").string() + "' -frames:v 1 '" + (folder / "frame.png").string() + "'");
        const std::string read = run("tesseract '" + (folder / "frame.png").string() + "' - --psm 11 2>/dev/null");
        INFO("at " << time << ": " << read);
        CHECK(read.find("care team") != std::string::npos);
    }
}

TEST_CASE("Ctrl-C during a render leaves nothing behind") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "a.mkv", {}).string() + "'");
    write_short_plan(folder / "plan.json", "0:00", "0:08");
    const auto before = files_under(folder.path());
    const std::string render = program.line("render s1 --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "export").string() + "'");
    // A background job of a plain shell ignores interrupts, so another way of starting it is needed.
    for (double wait : {1.0, 2.5}) {
        const Ran ran = try_run("timeout --foreground --preserve-status -s INT " + std::to_string(wait) + " " + render);
        INFO(wait << " s: " << ran.out);
        CHECK(ran.code == 130);
        CHECK(ran.out.find("nothing was left behind") != std::string::npos);
        CHECK_FALSE(fs::exists(folder / "export"));
        for (const auto& [name, bytes] : files_under(folder.path())) {
            INFO(name);
            const bool known = before.count(name) || name.starts_with("library/library.sqlite") || name.starts_with("library/cache/");
            CHECK(known);
        }
        for (const auto& e : fs::directory_iterator(folder.path())) CHECK(e.path().filename().string().find(".part") == std::string::npos);
    }
}
