// The case page as bytes; how it behaves in a browser is tested in tests/web.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include <regex>
#include <set>

#include "app/core/identifiers.hpp"
#include "export/html.hpp"
#include "export/marks.hpp"
#include "tests/export/case_values.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;
using nlohmann::json;

namespace {

json told(const std::string& html) {
    const std::string begin = "id=\"told\">";
    const auto at = html.find(begin) + begin.size();
    return json::parse(html.substr(at, html.find("</script>", at) - at));
}

}  // namespace

TEST_CASE("The page holds all of its case as text and as data, and what is written into it stays text") {
    const std::string html = case_page_html(small_case());
    const json data = told(html);
    CHECK(data["length"] == 60.0);
    CHECK(data["events"].size() == 2);
    CHECK(data["events"][0]["at"] == 14.0);
    CHECK(data["events"][1]["ear"] == "left");
    CHECK(data["tracks"][0]["cues"][0]["words"] == "The canal is blocked\nby </script> hard wax.");
    CHECK(data["questions"][0]["right"] == 1);
    CHECK_FALSE(data["questions"][0].contains("spot"));
    CHECK(data["questions"][1]["spot"]["x"] == 0.4);
    CHECK(html.find("<title>Hard wax &amp; a &lt;cotton&gt; tip</title>") != std::string::npos);
    for (const char* words : {"Tell wax from skin", "An engineer hears less", "Both canals are clear.", "Drawn: nobody had to be asked.", "Voice: the draft voice", "Blockage found: hard wax", "does not diagnose"})
        CHECK(html.find(words) != std::string::npos);
}

TEST_CASE("The page asks for nothing from elsewhere, and no part of it is taken for an identifier") {
    const std::string html = case_page_html(small_case());
    CHECK(html.find("http:") == std::string::npos);
    CHECK(html.find("https:") == std::string::npos);
    CHECK(html.find("//") > html.find("<script>"));  // only the script's comments
    CHECK(std::regex_search(html, std::regex("content=\"default-src 'none'; img-src 'self' file:; media-src 'self' file:; style-src 'sha256-[A-Za-z0-9+/]{43}='; script-src 'sha256-[A-Za-z0-9+/]{43}='; base-uri 'none'")));
    for (const auto& hit : identifiers_in(without_own_parts(html))) FAIL("taken for an identifier: " << hit.what << " " << without_own_parts(html).substr(hit.at, hit.length));
    for (const auto& own : {page_style(), page_script()})
        for (const auto& hit : identifiers_in(std::string(own))) FAIL("taken for an identifier: " << hit.what << " " << own.substr(hit.at, hit.length));
}

TEST_CASE("The policy's hashes are those that a browser computes") {
    // FIPS 180-2, appendix B.1: SHA-256 of "abc" in base 64.
    CHECK(page_policy("abc", "").find("style-src 'sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0='; script-src 'none'") != std::string::npos);
}

TEST_CASE("Lanes stand only for ears that the film tells of, and each event has its mark and its words") {
    CasePage page = small_case();
    page.events.pop_back();
    page.questions[1].nearest = 0;
    const std::string html = case_page_html(page);
    CHECK(html.find("class=\"lane right\"") != std::string::npos);
    CHECK(html.find("class=\"lane left\"") == std::string::npos);
    CHECK(html.find(mark_svg({"square", "B", "#E69F00"}) + "<span class=\"time\">0:14</span><span class=\"words\">Blockage found: hard wax</span><span class=\"side\">Right</span>") != std::string::npos);
}

TEST_CASE("Every shape of the vocabulary has a mark of its own on the page") {
    std::set<std::string> all;
    for (const char* shape : {"disc", "square", "diamond", "triangle", "wedge", "ring", "bar", "cross", "drop", "flag"}) all.insert(mark_svg({shape, "A", "#0072B2"}));
    CHECK(all.size() == 10);
    CHECK(mark_svg({"square", "<", "#0072B2"}).find(">&lt;</text>") != std::string::npos);
    CHECK(mark_svg({"square", "A", "#0072B2"}).find("fill=\"#fff\"") != std::string::npos);
    CHECK(mark_svg({"square", "A", "#F0E442"}).find("<text y=\"4.0\" fill=\"#000\"") != std::string::npos);
}

TEST_CASE("An audience that may see who it is is told so above the page") {
    CasePage page = small_case();
    CHECK(case_page_html(page).find("class=\"notice\"") == std::string::npos);
    page.notice = "Identifiable: for the care team only";
    CHECK(case_page_html(page).find("<p class=\"notice\">Identifiable: for the care team only</p>") != std::string::npos);
}

TEST_CASE("The page's own style and script are not read as words of the case, all else is") {
    const std::string html = case_page_html(small_case()), rest = without_own_parts(html);
    CHECK(rest.find("localStorage") == std::string::npos);
    CHECK(rest.find("prefers-color-scheme") == std::string::npos);
    CHECK(rest.find("Both canals are clear.") != std::string::npos);
    CHECK(rest.size() + page_style().size() + page_script().size() == html.size() + 2);
}
