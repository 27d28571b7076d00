// Where questions are asked and where their spots lie in the film's picture.
#include <catch2/catch.hpp>

#include "export/question_points.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

Question spot_at(double seconds, ShareBox box) {
    Question q;
    q.at = at(seconds);
    q.asks = "Where?";
    q.spot = box;
    return q;
}

// A card of a second, then ten seconds of r1 at twice the pace, held at 4 s for three seconds.
struct Film {
    Film() {
        Card card;
        card.length = s(1);
        plan.items.emplace_back(card);
        Passage p;
        p.recording = "r1";
        p.span = span(0, 10);
        p.pace = 2;
        p.holds = {{at(4), s(3)}};
        plan.items.emplace_back(p);
        room = {{1280, 720}, {1280, 624}, {{"r1", {1110, 624}}}};
    }
    Passage& passage() { return std::get<Passage>(plan.items[1]); }
    std::vector<PlacedQuestion> placed() { return placed_questions(plan, schedule(plan, {}, {{}, {}}), room); }
    Plan plan;
    FilmRoom room;
};

}  // namespace

TEST_CASE("The film stops at the first frame that shows a question's instant") {
    Film f;
    f.passage().questions = {spot_at(8, {0, 0, 1, 1}), spot_at(2, {0, 0, 1, 1}), spot_at(4, {0, 0, 1, 1})};
    const auto placed = f.placed();
    REQUIRE(placed.size() == 3);  // in the film's order, whatever the plan's
    CHECK(placed[0].at.ns == s(1 + 1));          // 2 s at twice the pace, after the card
    CHECK(placed[1].at.ns == s(1 + 2));          // where the hold begins
    CHECK(placed[2].at.ns == s(1 + 2 + 3 + 2));  // after the hold
    CHECK(placed[0].number == 1);
}

TEST_CASE("A spot's shares of the recording's picture become shares of the film's") {
    Film f;
    f.passage().questions = {spot_at(2, {0.5, 0.5, 0.1, 0.2})};
    const auto placed = f.placed();
    REQUIRE(placed.size() == 1);
    const ShareBox& b = *placed[0].spot;
    // The picture stands in the middle: 85 pixels of black at either side, the strip below.
    CHECK(b.x * 1280 == Approx(85 + 0.5 * 1110));
    CHECK(b.y * 720 == Approx(0.5 * 624));
    CHECK(b.w * 1280 == Approx(0.1 * 1110));
    CHECK(b.h * 720 == Approx(0.2 * 624));
}

TEST_CASE("In a close-up a spot lies where the window shows it, and larger") {
    Film f;
    f.passage().close_up = CloseUp{{0.5, 0.5, 0.5, 0.5}, {}, {}};
    f.passage().questions = {spot_at(2, {0.6, 0.7, 0.1, 0.1})};
    const auto placed = f.placed();
    REQUIRE(placed.size() == 1);
    CHECK(placed[0].spot->x * 1280 == Approx(85 + 0.2 * 1110));
    CHECK(placed[0].spot->y * 720 == Approx(0.4 * 624));
    CHECK(placed[0].spot->w * 1280 == Approx(0.2 * 1110));
}

TEST_CASE("A mirrored picture has its spots on the other side, and a turned one where they went") {
    Passage p;
    p.span = span(0, 1);
    p.view.mirrored = true;
    CHECK(spot_in_view(p, {0.1, 0.2, 0.2, 0.1}, at(0), 1)->x == Approx(0.7));
    p.view = {};
    p.view.turn = 90;  // clockwise: what was at the left is on top
    const auto b = spot_in_view(p, {0.0, 0.4, 0.1, 0.2}, at(0), 1);
    REQUIRE(b);
    CHECK(b->x == Approx(0.4));
    CHECK(b->y == Approx(0.0).margin(1e-9));
    CHECK(b->w == Approx(0.2));
    CHECK(b->h == Approx(0.1));
}

TEST_CASE("A question whose spot is not in view is left out of the page, and said to be in one sentence") {
    Film f;
    f.passage().close_up = CloseUp{{0.5, 0.5, 0.5, 0.5}, {}, {}};
    f.passage().questions = {spot_at(2, {0.1, 0.1, 0.1, 0.1}), spot_at(3, {0.6, 0.6, 0.1, 0.1})};
    const auto placed = f.placed();
    REQUIRE(placed.size() == 1);
    CHECK(placed[0].number == 1);
    const auto told = questions_left_out(f.plan, {recording()});
    REQUIRE(told.size() == 1);
    CHECK(told[0] == "The question at 0:02 in item 2 is left out of the case page: its spot is not in view there; move it, or ask it with choices.");
    f.passage().close_up.reset();
    CHECK(questions_left_out(f.plan, {recording()}).empty());
    f.passage().beside = Beside{};
    CHECK(questions_left_out(f.plan, {recording()}).size() == 2);
    // One with choices needs no place.
    f.passage().questions = {spot_at(2, {})};
    f.passage().questions[0].spot.reset();
    f.passage().questions[0].choices = {"a", "b"};
    CHECK(questions_left_out(f.plan, {recording()}).empty());
    CHECK(f.placed().size() == 1);
}
