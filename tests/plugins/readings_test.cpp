#include "plugins/burnt_text/readings.hpp"

#include <catch2/catch.hpp>

#include "plugins/sdk/reading.hpp"

namespace canalogue::tests {

namespace {

using namespace canalogue::burnt_text;

constexpr std::int64_t kSecond = 1'000'000'000;

std::vector<Wording> said(const std::vector<const char*>& one_a_second) {
    std::vector<Reading> readings;
    for (std::size_t i = 0; i < one_a_second.size(); ++i) readings.push_back({static_cast<std::int64_t>(i) * kSecond, 0, one_a_second[i]});
    return wordings(readings);
}

}  // namespace

TEST_CASE("A running clock and a trembling reading are one wording, another text is another", "[plugins]") {
    CHECK(plugin::same_wording("2031-03-04 10:11:12", "2031-03-04 10:11:13"));
    CHECK(plugin::same_wording("Harbour Ear Clinic", "Harbour Eor CIinlc"));
    CHECK_FALSE(plugin::same_wording("ZOOM 4x", "PELLWORM, G."));
    CHECK_FALSE(plugin::same_wording("ZOOM 4x", ""));
    CHECK(plugin::same_wording("...", ""));
}

TEST_CASE("Where the words of a place change, another wording begins, and every reading is kept", "[plugins]") {
    const auto all = said({"ZOOM 4x", "ZOOM 4x", "PELLWORM, G.", "ZOOM 4x", "ZOOM 5x"});
    REQUIRE(all.size() == 3);
    CHECK(all[0].last_ns == kSecond);
    CHECK(all[1].texts == std::vector<std::string>{"PELLWORM, G."});
    CHECK(all[1].first_ns == 2 * kSecond);
    CHECK(all[2].texts == std::vector<std::string>{"ZOOM 4x", "ZOOM 5x"});
}

TEST_CASE("One picture that could not be read splits nothing, two in a row do", "[plugins]") {
    CHECK(said({"ZOOM 4x", "", "ZOOM 4x"}).size() == 1);
    CHECK(said({"", "ZOOM 4x"}).size() == 1);
    const auto all = said({"ZOOM 4x", "", "", "ZOOM 4x"});
    REQUIRE(all.size() == 3);
    CHECK(all[1].texts.empty());
    CHECK(said({""}).size() == 1);
}

TEST_CASE("Parts of a line read in one picture are one reading, from left to right", "[plugins]") {
    const auto all = wordings({{0, 170, ":12"}, {0, 100, "10:11"}, {kSecond, 100, "10:11:13"}});
    REQUIRE(all.size() == 1);
    CHECK(all[0].texts.front() == "10:11 :12");
}

TEST_CASE("Words that do not fit are left out by whole lines, and that is said", "[plugins]") {
    CHECK(in_lines({"one", "two"}, 100) == "one\ntwo");
    CHECK(in_lines({"one", "two", "three"}, 8) == "one\ntwo\n...");
}

}  // namespace canalogue::tests
