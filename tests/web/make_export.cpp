// Makes what the browser looks at: a drawn recording of each ear, rendered with narration, two questions and all that is
// made for learners, and a teaching set of it.
//     canalogue-web-export DIR      makes DIR/case and DIR/index.html anew
#include <cstdio>

#include "export/render.hpp"
#include "export/teaching_set.hpp"
#include "tests/core/values.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

constexpr double kSeconds = 8;

// A white box at (300, 200), 60 by 40, on a plain ground.
film::SourceRecording drawn(const fs::path& folder, const std::string& id, Ear ear, const std::string& ground) {
    const std::string length = std::to_string(kSeconds);
    const fs::path file = make_media(folder / (id + ".mkv"), "-f lavfi -i \"color=c=" + ground + ":s=640x360:r=25:d=" + length + ",drawbox=x=300:y=200:w=60:h=40:color=white:t=fill,format=yuv420p\" -c:v ffv1 -g 1");
    auto index = media::FrameIndex::build(file, {});
    if (!index) throw std::runtime_error(index.failure().sentence);
    film::SourceRecording out{recording(id, kSeconds, {640, 360}), std::make_shared<const media::FrameIndex>(std::move(*index)), {}};
    out.recording.path = file.string();
    out.recording.ears = {{out.recording.only, ear}};
    return out;
}

Passage passage(const std::string& id, Ear ear, const std::string& chapter, const std::string& line) {
    Passage p;
    p.recording = id;
    p.ear = ear;
    p.span = span(1, 7);
    p.chapter = chapter;
    p.narration = {line};
    return p;
}

Plan plan() {
    Plan plan;
    plan.title = "Wax on the right, a bead on the left";
    plan.about = {"a harbour-town clinic (invented)", "learners", {"Tell wax from a bead", "Know when to stop"}, "An engineer hears less on the right. All of it is drawn.", "Both canals are clear.",
                  "Drawn: nobody had to be asked.", "None.", {"Voice: the draft voice"}, {"ear care", "wax"}};
    Card title;
    title.role = Card::Role::title;
    title.title = plan.title;
    title.length = s(2);
    title.chapter = "Introduction";
    plan.items.emplace_back(title);
    Passage right = passage("r1", Ear::right, "Right ear", "The right canal is blocked by hard wax."), left = passage("r2", Ear::left, "Left ear", "A small bead lies in the left canal.");
    Question choice;
    choice.at = at(3);
    choice.asks = "What blocks this canal?";
    choice.choices = {"A bead", "Hard wax", "Skin"};
    choice.right = 1;
    choice.reveals = "It is dark and dull: hard wax.";
    right.questions = {choice};
    Question spot;
    spot.at = at(4);
    spot.asks = "Where is the bead?";
    spot.spot = ShareBox{300.0 / 640, 200.0 / 360, 60.0 / 640, 40.0 / 360};
    spot.reveals = "It is the white box.";
    left.questions = {spot};
    plan.items.emplace_back(right);
    plan.items.emplace_back(left);
    return plan;
}

std::vector<Event> events() {
    std::vector<Event> out{event("e1", "blockage-found", 2), event("e2", "piece-removed", 4), event("e3", "canal-clear", 6), event("e4", "foreign-body", 3, Ear::left, "r2"), event("e5", "drum-visible", 5, Ear::left, "r2")};
    out[0].attributes = {{"material", "hard wax"}, {"extent", "complete"}};
    out[4].until = at(6.5);
    return out;
}

}  // namespace

int main(int argc, char** argv) try {
    if (argc != 2) return std::fprintf(stderr, "Use: canalogue-web-export DIR\n"), 2;
    const fs::path folder = argv[1];
    fs::remove_all(folder);
    fs::create_directories(folder / "recordings");
    film::RenderJob job;
    job.plan = plan();
    job.sources = {drawn(folder / "recordings", "r1", Ear::right, "0x8a5a48"), drawn(folder / "recordings", "r2", Ear::left, "0x7a5240")};
    job.events = events();
    job.vocabulary = &ear_care();
    job.out = folder / "case";
    job.held = folder / "held";
    auto report = film::render(job, {});
    if (!report) return std::fprintf(stderr, "%s\n", report.failure().sentence.c_str()), 1;
    if (report->held) return std::fprintf(stderr, "%s", film::report_table(report->check).c_str()), 1;
    if (auto set = film::write_teaching_set(folder, "Ears, week 1", {folder / "case"}); !set) return std::fprintf(stderr, "%s\n", set.failure().sentence.c_str()), 1;
    fs::remove_all(folder / "recordings");
    return 0;
} catch (const std::exception& e) {
    return std::fprintf(stderr, "%s\n", e.what()), 1;
}
