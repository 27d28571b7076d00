#include <catch2/catch.hpp>

#include "app/core/pointer.hpp"
#include "app/core/view.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

TEST_CASE("A place is found again in a picture that is close up, mirrored and turned") {
    struct Row {
        ViewChange view;
        ShareBox window;
        double x, y, u, v;
    };
    ViewChange mirrored, quarter, both;
    mirrored.mirrored = true;
    quarter.turn = 90;
    both.mirrored = true, both.turn = 90;
    const double aspect = 1.0;
    const Row rows[] = {{{}, {}, 0.2, 0.7, 0.2, 0.7},
                        {{}, {0.2, 0.4, 0.4, 0.4}, 0.3, 0.6, 0.25, 0.5},
                        {mirrored, {}, 0.2, 0.7, 0.8, 0.7},
                        // What is at the top goes to the right when the picture is turned clockwise by a quarter.
                        {quarter, {}, 0.5, 0.1, 0.9, 0.5},
                        {both, {}, 0.5, 0.1, 0.9, 0.5},
                        {both, {}, 0.1, 0.5, 0.5, 0.9}};
    for (const auto& r : rows) {
        const auto [u, v] = in_view(r.view, r.window, aspect, r.x, r.y);
        CHECK(u == Approx(r.u));
        CHECK(v == Approx(r.v));
    }
    // In a wide picture, lengths stay as they are: half the height up becomes half the height to the right.
    const auto [u, v] = in_view(quarter, {}, 2.0, 0.5, 0.0);
    CHECK(u == Approx(0.75));
    CHECK(v == Approx(0.5));
}

TEST_CASE("What is changed in a picture is said in words, and nothing is said of one that is as filmed") {
    CHECK(words_of(ViewChange{}).empty());
    ViewChange v;
    v.mirrored = true, v.turn = -90, v.brightness = 0.5, v.steady = true;
    v.white = WhiteReference{};
    CHECK(words_of(v) == "mirrored, turned 90\u00b0 anticlockwise, brightened, white balanced, steadied");
}

TEST_CASE("A pointer goes straight from place to place and stands still at its ends") {
    Pointer p;
    p.from = at(1), p.until = at(5);
    p.path = {{at(2), 0.2, 0.4}, {at(4), 0.6, 0.8}};
    CHECK(place_at(p, at(1)).x == 0.2);
    CHECK(place_at(p, at(3)).x == Approx(0.4));
    CHECK(place_at(p, at(3)).y == Approx(0.6));
    CHECK(place_at(p, at(9)).y == 0.8);
    CHECK(fault_of(p, span(0, 10)).empty());
    CHECK_FALSE(fault_of(p, span(6, 10)).empty());
    std::swap(p.path[0], p.path[1]);
    CHECK_FALSE(fault_of(p, span(0, 10)).empty());
}
