#include "plugins/burnt_text/sightings.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

namespace canalogue::tests {

namespace {

using namespace canalogue::burnt_text;

constexpr std::int64_t kSecond = 1'000'000'000, kPatience = 5 * kSecond;

Sight seen(double t, cv::Rect2f box) {
    const auto ns = static_cast<std::int64_t>(t * 1e9);
    return {ns, ns, box, .9f, {}, {}, true};
}
Sight seen_in_mean(double from, double to, cv::Rect2f box) {
    auto sight = seen(from, box);
    sight.end_ns = static_cast<std::int64_t>(to * 1e9);
    return sight;
}

}  // namespace

TEST_CASE("Words side by side are one line, lines below each other are two", "[plugins]") {
    const cv::Rect2f hours(100, 50, 40, 20), seconds(150, 52, 30, 18), below(100, 76, 40, 20),
        far(260, 50, 40, 20);
    CHECK(one_line(hours, seconds));
    CHECK_FALSE(one_line(hours, below));
    CHECK_FALSE(one_line(hours, far));
    CHECK(one_line({10, 100, 20, 80}, {10, 190, 20, 60}));  // an upright line goes on downwards
    const auto parts = joined({seen(0, hours), seen(0, below), seen(0, seconds)});
    REQUIRE(parts.size() == 2);
    CHECK(parts[0].box == (hours | seconds));
}

TEST_CASE("A clock found now whole, now in parts, is one line that covers all of it", "[plugins]") {
    const cv::Rect2f whole(100, 50, 120, 20), left(100, 50, 50, 20), right(170, 50, 50, 20);
    const auto lines = followed({seen(0, whole), seen(1, left), seen(1, right), seen(2, whole)}, kPatience);
    REQUIRE(lines.size() == 1);
    CHECK(lines[0].still());
    CHECK(lines[0].hull == whole);
    CHECK(lines[0].end_ns == 2 * kSecond);
}

TEST_CASE("Text that was away for long is a new line when it comes again", "[plugins]") {
    const cv::Rect2f box(100, 50, 120, 20);
    CHECK(followed({seen(0, box), seen(4, box)}, kPatience).size() == 1);
    CHECK(followed({seen(0, box), seen(9, box)}, kPatience).size() == 2);
}

TEST_CASE("What a mean saw does not hold up a line that moves", "[plugins]") {
    std::vector<Sight> sights;
    for (int i = 0; i < 10; ++i) sights.push_back(seen(i, {100.f + 60 * static_cast<float>(i), 50, 120, 20}));
    sights.push_back(seen_in_mean(0, 9, {300, 50, 120, 20}));
    const auto lines = followed(sights, kPatience);
    REQUIRE(lines.size() == 2);
    CHECK_FALSE(lines[0].still());
    CHECK(lines[0].sights.size() == 10);
    CHECK(lines[1].still());
}

TEST_CASE("A line turned by a quarter and a level one that crosses it stay two") {
    CHECK_FALSE(one_line(cv::Rect2f(10, 100, 40, 360), cv::Rect2f(20, 200, 260, 60)));
    CHECK(one_line(cv::Rect2f(10, 100, 200, 40), cv::Rect2f(150, 100, 120, 40)));
}

TEST_CASE("A page that passes behind a burnt-in line stays another thing") {
    const cv::Rect2f line(14, 15, 450, 28), page(0, 10, 1100, 380);
    CHECK_FALSE(one_line(line, page));
    std::vector<Sight> sights;
    for (int i = 0; i < 8; ++i) sights.push_back(seen(i, line));
    // Lines of a page held askew, each within the last one's reach: together they would fill the picture.
    for (int i = 0; i < 8; ++i) sights.push_back(seen(3 + .1 * i, {20.f + 12 * static_cast<float>(i), 30.f + 14 * static_cast<float>(i), 450, 60}));
    const auto lines = followed(std::move(sights), kPatience);
    const auto burnt = std::find_if(lines.begin(), lines.end(), [&](const Line& l) { return l.start_ns == 0; });
    REQUIRE(burnt != lines.end());
    CHECK(burnt->hull.height < 60);
}

TEST_CASE("What was only read outside ends when the view is inside again, and is another thing the next time") {
    auto outside = [](double t) {
        auto s = seen(t, {100, 50, 120, 20});
        s.inside = false;
        return s;
    };
    const auto at = [](double t) { return static_cast<std::int64_t>(t * 1e9); };
    auto lines = followed({outside(1), outside(2), outside(5)}, kPatience);
    REQUIRE(lines.size() == 1);
    const auto parts = without_inside(lines[0], {at(3), at(4)});
    REQUIRE(parts.size() == 2);
    CHECK(parts[0].end_ns == at(2));
    CHECK(parts[1].start_ns == at(5));
    // A burnt-in line is seen inside as well: it is left whole.
    lines = followed({outside(1), seen(2, {100, 50, 120, 20}), outside(2.5)}, kPatience);
    REQUIRE(lines.size() == 1);
    CHECK(without_inside(lines[0], {at(2), at(3)}).size() == 1);
}

}  // namespace canalogue::tests
