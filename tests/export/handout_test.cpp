// The handout, the publishing kit, and that the check reads both.
#include <catch2/catch.hpp>

#include "export/check_parts.hpp"
#include "export/folder.hpp"
#include "export/handout.hpp"
#include "export/learner_files.hpp"
#include "export/publishing.hpp"
#include "tests/export/case_values.hpp"
#include "tests/export/clean_film.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

// An export with a film, a still and a poster, and all that is made for learners of this case.
struct Made {
    explicit Made(CasePage case_of = small_case(), Audience audience = Audience::learners) : page(std::move(case_of)) {
        fs::create_directories(place / "stills");
        fs::copy_file(clean_film(folder), place / "clip.mp4");
        media::FramePtr frame = media::make_frame(AV_PIX_FMT_YUV420P, {960, 720});
        fill_frame(*frame, {0x80, 0x60, 0x50});
        REQUIRE(write_jpeg(place / "poster.jpg", *frame).ok());
        REQUIRE(write_jpeg(place / "stills/01-right-wax.jpg", *frame).ok());
        page.stills = {{"stills/01-right-wax.jpg", "Blockage found: hard wax", Ear::right, {s(14)}, 4}};
        Plan plan;
        plan.title = page.title;
        plan.about = page.about;
        REQUIRE(write_learner_files(place, page, plan, audience).ok());
    }
    CheckReport check(const std::vector<std::string>& known) const {
        CheckOptions options;
        options.known_identifiers = known;
        auto report = check_export(place, options, {});
        REQUIRE(report.ok());
        return *report;
    }
    TempFolder folder;
    fs::path place = folder / "export";
    CasePage page;
};

bool found_in(const CheckReport& report, const std::string& file) {
    for (const auto& look : report.looks)
        for (const auto& p : look.places)
            if (look.outcome == CheckLook::Outcome::finding && p.where.find(file) != std::string::npos) return true;
    return false;
}

int pages_of(const std::string& pdf) {
    const auto at = pdf.find("/Count ");
    return at == std::string::npos ? 0 : std::atoi(pdf.c_str() + at + 7);
}

}  // namespace

TEST_CASE("The handout has two pages with the case, its chapters and questions, the answers last") {
    const Made made;
    const auto text = text_of_pdf(made.place / "handout.pdf");
    REQUIRE(text);
    INFO(*text);
    std::size_t last = 0;
    for (const char* words : {"Hard wax & a <cotton> tip", "does not diagnose", "An engineer hears less", "Know when to stop", "Right ear, 0:14: Blockage found", "0:40", "Left ear", "Both canals are clear.", "What blocks it?", "B Wax",
                              "Where is the drum?", "Drawn: nobody had to be asked.", "Voice: the draft voice", "Answers. 1: B. It is wax."}) {
        INFO(words);
        const auto at = text->find(words, last);
        CHECK(at != std::string::npos);
        if (at != std::string::npos) last = at;
    }
    CHECK(pages_of(read_file(made.place / "handout.pdf")) == 2);
}

TEST_CASE("The handout is the same whenever it is made, and stays two pages however much there is to say") {
    const Made one, two;
    const bool same = read_file(one.place / "handout.pdf") == read_file(two.place / "handout.pdf");
    CHECK(same);
    CHECK(read_file(one.place / "handout.pdf").find("Date") == std::string::npos);
    CasePage much = small_case();
    for (int i = 0; i < 900; ++i) much.about.case_text += "and so it went on ";
    const Made full(much);
    CHECK(pages_of(read_file(full.place / "handout.pdf")) == 2);
    CHECK(text_of_pdf(full.place / "handout.pdf")->find("There is more on the case page.") != std::string::npos);
}

TEST_CASE("What is made for learners passes the check, and a known identifier in page, handout or kit is found") {
    CHECK(Made().check({"Greta Tidewell"}).passed());
    CasePage named = small_case();
    named.about.outcome = "Greta Tidewell hears again.";
    const Made made(named);
    const auto report = made.check({"Greta Tidewell"});
    CHECK(found_in(report, "case.html"));
    CHECK(found_in(report, "handout.pdf"));
    CHECK(found_in(report, "description.txt"));
    // In the data of the page alone.
    CasePage heard = small_case();
    heard.tracks[0].cues[0].lines = {"Thank you, missus Tidewell."};
    CHECK(found_in(Made(heard).check({"Tidewell"}), "case.html"));
}

TEST_CASE("A name that is a word of the page's own script is not found in every page") {
    // Each is somebody's name, and stands in the style or the script.
    const Made made;
    for (const char* name : {"Verdict", "Sticky", "Balance"}) {
        const auto report = made.check({name});
        INFO(name << "\n" << report_table(report));
        CHECK(report.passed());
    }
}

TEST_CASE("A PDF that cannot be read is a finding: nobody knows what it says") {
    const Made made;
    write_file(made.place / "other.pdf", "no PDF at all");
    CHECK(found_in(made.check({}), "other.pdf"));
}

TEST_CASE("Published chapters begin at 0:00, rise, and are ten seconds long at least") {
    const auto out = published_chapters({{{s(3)}, "One"}, {{s(8)}, "Two"}, {{s(20)}, "Three"}, {{s(29)}, "Four"}, {{s(55)}, "Five"}}, s(60));
    REQUIRE(out.size() == 2);
    CHECK(out[0].start.ns == 0);
    CHECK(out[0].title == "One / Two");
    CHECK(out[1].start.ns == s(20));
    CHECK(out[1].title == "Three / Four / Five");
    const auto late = published_chapters({{{s(15)}, "One"}}, s(60));
    REQUIRE(late.size() == 2);
    CHECK(late[0].title == "Beginning");
    CHECK(published_chapters({}, s(60)).empty());
}

TEST_CASE("The kit says what a publisher needs: its thumbnail is 1280 by 720: none is made for the care team") {
    const Made made;
    const fs::path kit = made.place / "publishing";
    CHECK(read_file(kit / "title.txt") == "Hard wax & a <cotton> tip\n");
    CHECK(read_file(kit / "tags.txt") == "ear care, wax\n");
    const std::string description = read_file(kit / "description.txt");
    CHECK(description.find("Chapters\n0:00 Introduction\n0:12 Right ear\n0:40 Left ear\n") != std::string::npos);
    CHECK(description.find("Consent: Drawn: nobody had to be asked.\nInterests: None.\nVoice: the draft voice\n") != std::string::npos);
    CHECK(description.find("does not diagnose") != std::string::npos);
    CHECK(read_file(kit / "checklist.txt").find(" of 18\n") != std::string::npos);
    CHECK(read_file(kit / "checklist.txt").find("from memory") != std::string::npos);
    const std::string jpeg = read_file(kit / "thumbnail.jpg");
    CHECK(jpeg.find(std::string("\x02\xD0\x05\x00", 4)) != std::string::npos);  // 720 lines of 1280 (ITU-T T.81, B.2.2)
    CasePage care = small_case();
    care.notice = "Identifiable: for the care team only";
    const Made own(care, Audience::care);
    CHECK_FALSE(fs::exists(own.place / "publishing"));
    CHECK(text_of_pdf(own.place / "handout.pdf")->find("Identifiable: for the care team only") != std::string::npos);
}
