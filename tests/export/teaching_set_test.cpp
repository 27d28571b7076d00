#include <catch2/catch.hpp>

#include "app/media/file_hash.hpp"
#include "export/teaching_set.hpp"
#include "tests/export/case_values.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

fs::path finished(const fs::path& place, const std::string& audience = "learners", bool passed = true) {
    fs::create_directories(place);
    CasePage page = small_case();
    write_file(place / "case.html", case_page_html(page));
    write_file(place / "handout.pdf", "x");
    write_file(place / "check.json", passed ? "{\"passed\": true}" : "{\"passed\": false}");
    std::string files;
    for (const char* name : {"case.html", "handout.pdf", "check.json"}) files += (files.empty() ? "" : ", ") + std::string("{\"name\": \"") + name + "\", \"sha256\": \"" + media::hash_file(place / name, {}).value() + "\"}";
    write_file(place / "manifest.json", "{\"canalogue_manifest\": 1, \"title\": \"Wax <one>\", \"language\": \"en-GB\", \"audience\": \"" + audience + "\", \"files\": [" + files + "]}\n");
    return place;
}

std::string sentence(const Result<fs::path>& result) { return result ? "" : result.failure().sentence; }

}  // namespace

TEST_CASE("A teaching set tells its cases in order, with relative links") {
    TempFolder folder;
    const fs::path course = folder / "course";
    const auto a = finished(course / "first case"), b = finished(folder / "elsewhere" / "second");
    REQUIRE(write_teaching_set(course, "Ears & more", {b, a}).ok());
    const std::string html = read_file(course / "index.html");
    const auto second = html.find("href=\"../elsewhere/second/case.html\">1. Wax &lt;one&gt;"), first = html.find("href=\"first%20case/case.html\">2. Wax");
    CHECK(second != std::string::npos);
    CHECK(first != std::string::npos);
    CHECK(second < first);
    CHECK(html.find("<h1>Ears &amp; more</h1>") != std::string::npos);
    CHECK(html.find("src=\"first%20case/poster.jpg\"") != std::string::npos);
    CHECK(html.find("Tell wax from skin") != std::string::npos);
    CHECK(html.find("1:00 of film") != std::string::npos);
    CHECK(html.find("2 cases, 2:00 of film") != std::string::npos);
    CHECK(html.find("does not diagnose") != std::string::npos);
    CHECK(html.find(folder.path().string()) == std::string::npos);
    const std::string before = read_file(course / "index.html");
    const auto earlier = write_teaching_set(course, "Again", {a});  // its own page is replaced, and kept
    REQUIRE(earlier.ok());
    CHECK(read_file(*earlier) == before);
}

TEST_CASE("What is no export, or may show who somebody is, is in no teaching set: nor is a stranger's page replaced") {
    TempFolder folder;
    fs::create_directories(folder / "holiday");
    CHECK(sentence(write_teaching_set(folder / "course", "", {folder / "holiday"})) == "'holiday' is no finished export: name folders that 'canalogue render' made.");
    for (const char* audience : {"care", "patient"}) {
        const auto refused = write_teaching_set(folder / "course", "", {finished(folder / audience, audience)});
        REQUIRE_FALSE(refused.ok());
        CHECK(refused.failure().trouble == Trouble::refused);
        CHECK(refused.failure().sentence.find("may show who somebody is") != std::string::npos);
    }
    const auto old = finished(folder / "old");
    fs::remove(old / "case.html");
    CHECK(sentence(write_teaching_set(folder / "course", "", {old})).find("has no case page") != std::string::npos);
    CHECK_FALSE(fs::exists(folder / "course"));
    fs::create_directories(folder / "site");
    write_file(folder / "site/index.html", "<h1>Mine</h1>");
    CHECK(sentence(write_teaching_set(folder / "site", "", {finished(folder / "good")})).find("of another kind") != std::string::npos);
    CHECK(read_file(folder / "site/index.html") == "<h1>Mine</h1>");
    CHECK_FALSE(write_teaching_set(folder / "course", "", {}).ok());
}

TEST_CASE("A film in which the check found something is in no teaching set") {
    TempFolder folder;
    const auto refused = write_teaching_set(folder / "course", "", {finished(folder / "good"), finished(folder / "held", "learners", false)});
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.failure().trouble == Trouble::refused);
    CHECK(refused.failure().sentence.find("'held' was held back by its check") != std::string::npos);
    CHECK_FALSE(fs::exists(folder / "course"));
    const auto unchecked = finished(folder / "unchecked");
    fs::remove(unchecked / "check.json");
    CHECK_FALSE(write_teaching_set(folder / "course", "", {unchecked}).ok());
}

TEST_CASE("An export that was changed since it was checked is in no teaching set, nor one twice, nor a title that identifies") {
    TempFolder folder;
    for (const char* change : {"changed", "added", "taken"}) {
        INFO(change);
        const auto place = finished(folder / change);
        if (std::string(change) == "changed") write_file(place / "handout.pdf", "y");
        else if (std::string(change) == "added") write_file(place / "notes.txt", "Mine");
        else fs::remove(place / "handout.pdf");
        const auto made = write_teaching_set(folder / "course", "", {place});
        REQUIRE_FALSE(made.ok());
        CHECK(made.failure().trouble == Trouble::refused);
        CHECK(made.failure().sentence.find("is not as it was made") != std::string::npos);
    }
    const auto good = finished(folder / "good");
    CHECK(sentence(write_teaching_set(folder / "course", "", {good, folder / "other/../good"})) == "'good' is named twice: name each export once, in their order.");
    CHECK(sentence(write_teaching_set(folder / "course", "Born 1.2.1950", {good})).find("could tell who somebody is") != std::string::npos);
    CHECK(write_teaching_set(folder / "course", "Ears, week 1", {good}).ok());
}
