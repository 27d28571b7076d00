#include <catch2/catch.hpp>

#include <fstream>
#include <nlohmann/json.hpp>

#include "tests/support/media_files.hpp"

using namespace canalogue::test;
using nlohmann::json;

namespace {

// A real camera and real people; ships with Debian's package opencv-doc.
const fs::path kWalkers = "/usr/share/doc/opencv-doc/examples/data/vtest.avi";

struct Job {
    TempFolder folder;
    std::string program = std::string(CANALOGUE_BUILD_DIR) + "/bin/canalogue";

    // Progress goes to standard error; only the result is wanted here.
    std::string canalogue(const std::string& words) const {
        return run("'" + program + "' " + words + " --library '" + (folder / "library").string() + "' --by tester 2>/dev/null");
    }
    // What is outside the ear, people in it included, is kept: somebody has judged so.
    void keep_outside(const std::string& session) const {
        for (const auto& s : json::parse(canalogue("suspects " + session + " --json")))
            if (s["kind"] == "outside" || s["kind"] == "face") canalogue("decide " + session + " " + s["id"].get<std::string>() + " --harmless --reason 'a public test film'");
    }
    void render(const std::string& session, const std::string& more = "") const {
        canalogue("plan " + session + " --draft -o '" + (folder / "plan.json").string() + "'");
        // A shorter film tests the same: one passage of two seconds around the event.
        json plan = json::parse(read_file(folder / "plan.json"));
        json items = json::array();
        for (auto& item : plan["items"])
            if (item.contains("recording")) {
                item["narration"] = json::array();
                items.push_back(item);
            }
        plan["items"] = items;
        write_file(folder / "plan.json", plan.dump());
        canalogue("render " + session + " --plan '" + (folder / "plan.json").string() + "' --out '" + (folder / "out").string() + "' " + more);
    }
    // Mean brightness and spread of the luma in a box of the finished film at a time.
    std::pair<double, double> luma(double at, const std::string& crop) const {
        const std::string raw = (folder / "luma.gray").string();
        run("ffmpeg -nostdin -v error -y -ss " + std::to_string(at) + " -i '" + (folder / "out/clip.mp4").string() + "' -frames:v 1 -vf format=gray,crop=" + crop + " -f rawvideo '" + raw + "'");
        const std::string bytes = read_file(raw);
        double sum = 0, squares = 0;
        for (unsigned char c : bytes) sum += c, squares += double(c) * c;
        const double n = static_cast<double>(bytes.size()), mean = sum / n;
        return {mean, std::sqrt(std::max(0.0, squares / n - mean * mean))};
    }
};

}  // namespace

TEST_CASE("Real people filmed by a real camera are hidden by a cover over the whole view") {
    REQUIRE(fs::exists(kWalkers));
    Job job;
    job.canalogue("import --session walk --ear left '" + kWalkers.string() + "' --from 10 --until 20");
    job.canalogue("scan walk");
    job.canalogue("cover walk --whole --from 0 --until 10");
    job.canalogue("tag walk canal-clear --at 5");
    job.render("walk");
    // The picture's left lower part, away from the words in the middle: one flat colour, no people.
    CHECK(job.luma(1.5, "200:150:260:400").second < 2);
}

TEST_CASE("Without the cover the same film shows its people, and a box by hand hides only its place") {
    REQUIRE(fs::exists(kWalkers));
    Job job;
    job.canalogue("import --session walk --ear left '" + kWalkers.string() + "' --from 10 --until 20");
    job.canalogue("scan walk");
    // In the source's 768x576: a piece of building and grass.
    job.canalogue("cover walk --box 200,100,200,150 --from 0 --until 10");
    job.canalogue("tag walk canal-clear --at 5");
    job.keep_outside("walk");
    // Learners would not get it: its check finds the people.
    job.render("walk", "--audience care --reason 'a test'");
    // The film's picture is 832x624 beginning at 224: scale 1.0833.
    const auto covered = job.luma(1.5, "160:100:460:140"), open = job.luma(1.5, "160:100:860:140");
    CHECK(open.second > 20);
    CHECK(covered.second < open.second / 2);
}

TEST_CASE("A turned film of variable frame rate goes the whole way, its upright text covered") {
    Job job;
    const fs::path flat = make_media(job.folder / "flat.mp4",
        "-f lavfi -i testsrc2=size=640x360:rate=25:duration=6 -vf \"eq=contrast=0.3:brightness=-0.2,select='not(mod(n,3))+gt(mod(n,50),30)'\" "
        "-fps_mode vfr -c:v libx264 -preset fast -g 30 -bf 2");
    make_media(job.folder / "turned.mp4", "-i '" + flat.string() + "' -c copy -metadata:s:v:0 rotate=90");
    const json imported = json::parse(job.canalogue("import --json --session turned --ear right '" + (job.folder / "turned.mp4").string() + "'"));
    CHECK(imported[0]["width"] == 360);
    CHECK(imported[0]["height"] == 640);
    job.canalogue("scan turned");
    job.keep_outside("turned");
    // Upright coordinates: the top quarter.
    job.canalogue("cover turned --box 0,0,360,160 --from 0 --until 6");
    job.canalogue("tag turned canal-clear --at 3");
    job.render("turned");
    // 351x624 (even: 350 or 352) in the middle of the film; the lower half still shows the pattern.
    const auto top = job.luma(1.0, "300:130:490:20"), below = job.luma(1.0, "300:250:490:330");
    CHECK(top.second < below.second * 0.7);
    const std::string rate = run("ffprobe -v error -select_streams v -show_entries stream=r_frame_rate,avg_frame_rate -of csv=p=0 '" + (job.folder / "out/clip.mp4").string() + "'");
    CHECK(rate.find("25/1,25/1") != std::string::npos);
}
