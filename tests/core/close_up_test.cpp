// Where a close-up window may be, what it grows to, and how it moves.
#include <catch2/catch.hpp>

#include "app/core/close_up.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

const RecordingSpan kPassage = span(10, 20);

bool lies_in_picture(const ShareBox& b) { return b.x >= -1e-9 && b.y >= -1e-9 && b.right() <= 1 + 1e-9 && b.bottom() <= 1 + 1e-9; }
bool allowed(const ShareBox& b) { return lies_in_picture(b) && b.w == b.h && fault_of({b, {}, {}}, kPassage).empty(); }

bool same(const ShareBox& a, const ShareBox& b) {
    return std::abs(a.x - b.x) < 1e-9 && std::abs(a.y - b.y) < 1e-9 && std::abs(a.w - b.w) < 1e-9 && std::abs(a.h - b.h) < 1e-9;
}

CloseUp moving(double from, double until) { return {{0.1, 0.2, 0.5, 0.5}, ShareBox{0.6, 0.5, 0.25, 0.25}, span(from, until)}; }

}  // namespace

TEST_CASE("A close-up window outside the picture, or of nothing, or beyond six times, is refused") {
    struct Row {
        CloseUp close_up;
        const char* fault;
    };
    const ShareBox good{0.25, 0.25, 0.5, 0.5};
    const Row rows[] = {
        {{good, {}, {}}, ""},
        {{{0, 0, 1, 1}, {}, {}}, ""},
        {{{0.75, 0.75, 0.25, 0.25}, {}, {}}, ""},
        {{{0.2, 0.2, 1.0 / 6, 1.0 / 6}, {}, {}}, ""},
        {{{0.8, 0.1, 0.25, 0.25}, {}, {}}, "outside the picture"},
        {{{-0.1, 0.1, 0.25, 0.25}, {}, {}}, "outside the picture"},
        {{{0.1, 0.1, 0, 0.25}, {}, {}}, "above 0"},
        {{{0.1, 0.1, std::nan(""), 0.25}, {}, {}}, "above 0"},
        {{{0.2, 0.2, 0.15, 0.15}, {}, {}}, "smaller than a sixth"},
        {{good, ShareBox{0.2, 0.9, 0.25, 0.25}, {}}, "outside the picture"},
        {{good, good, span(12, 12)}, "must end later"},
        {{good, good, span(9, 12)}, "outside the passage"},
        {{good, good, span(12, 21)}, "outside the passage"},
        {{good, {}, span(12, 14)}, "needs a second window"},
        {{good, good, span(10, 20)}, ""},
    };
    for (const auto& row : rows) {
        const std::string fault = fault_of(row.close_up, kPassage);
        INFO(fault << " / " << row.fault);
        CHECK(fault.empty() == std::string(row.fault).empty());
        CHECK(fault.find(row.fault) != std::string::npos);
    }
}

TEST_CASE("A window of another shape grows to the picture's own, holds all that was asked for, and never leaves the picture") {
    for (double x = 0; x <= 0.8; x += 0.1)
        for (double y = 0; y <= 0.6; y += 0.1)
            for (const auto& [w, h] : {std::pair(0.2, 0.4), std::pair(0.2, 0.2), std::pair(0.05, 0.3)}) {
                const ShareBox asked{x, y, w, h}, got = fitted(asked);
                INFO(x << "," << y << " " << w << "x" << h << " -> " << got.x << "," << got.y << " " << got.w << "x" << got.h);
                CHECK(got.w == got.h);
                CHECK(got.w == Approx(std::max(w, h)));
                CHECK(lies_in_picture(got));
                CHECK((got.x <= x + 1e-9 && got.y <= y + 1e-9 && got.right() >= x + w - 1e-9 && got.bottom() >= y + h - 1e-9));
            }
}

TEST_CASE("A close-up rests, moves evenly with a soft start and end, and rests") {
    const CloseUp c = moving(12, 16);
    CHECK(shown_at(c, kPassage, at(10)) == shown_at(c, kPassage, at(12)));
    CHECK(same(shown_at(c, kPassage, at(10)), c.first));
    CHECK(shown_at(c, kPassage, at(16)).x == Approx(c.last->x));
    CHECK(shown_at(c, kPassage, at(19.9)) == shown_at(c, kPassage, at(16)));
    CHECK(shown_at(c, kPassage, at(14)).x == Approx(0.35));  // half way at half time
    double before = 0.1, last_step = 0;
    for (int k = 1; k <= 100; ++k) {
        const ShareBox b = shown_at(c, kPassage, at(12 + 0.04 * k));
        const double step = b.x - before;
        INFO(k);
        CHECK(step > 0);
        CHECK((k <= 50 ? step >= last_step - 1e-12 : step <= last_step + 1e-12));
        CHECK(lies_in_picture(b));
        CHECK(b.w == Approx(b.h));
        before = b.x, last_step = step;
    }
    // The first step is a hundredth of what even motion would make.
    CHECK(shown_at(c, kPassage, at(12.04)).x - 0.1 < 0.5 / 100 / 10);
}

TEST_CASE("Without a time to move in, a close-up moves all through its passage: without a second window it stays") {
    CloseUp c = moving(12, 16);
    c.moving.reset();
    CHECK(same(shown_at(c, kPassage, at(10)), c.first));
    CHECK(shown_at(c, kPassage, at(15)).x == Approx(0.35));
    CHECK(shown_at(c, kPassage, at(20)).x == Approx(0.6));
    c.last.reset();
    CHECK(same(shown_at(c, kPassage, at(20)), c.first));
}

TEST_CASE("How much a close-up enlarges is known, and the whole picture is none") {
    CHECK(most_enlarged(moving(12, 16)) == Approx(4));
    CHECK(enlarged({0, 0, 0.5, 0.5}) == Approx(2));
    CHECK(is_close_up({0, 0, 0.9, 0.9}));
    CHECK_FALSE(is_close_up({0, 0, 1, 1}));
}

TEST_CASE("Whatever a hand does to a window, it stays in the picture and within its sizes") {
    ShareBox b{0.3, 0.3, 0.4, 0.4};
    for (int i = 0; i < 40; ++i) {
        b = moved(b, i % 3 ? 0.07 : -0.2, i % 2 ? -0.09 : 0.05);
        CHECK(allowed(b));
        CHECK(b.w == Approx(0.4));
    }
    for (double factor : {0.5, 0.1, 0.9, 3.0, 9.0, 0.33}) {
        b = resized(b, factor);
        INFO(factor << ": " << b.x << "," << b.y << " " << b.w);
        CHECK(allowed(b));
    }
    for (double cx : {0.0, 0.05, 0.5, 0.95, 1.0})
        for (double x : {-0.4, 0.0, 0.49, 0.51, 1.0, 1.7}) {
            b = stretched(cx, 0.5, x, 0.8);
            INFO(cx << " to " << x << ": " << b.x << "," << b.y << " " << b.w);
            CHECK(allowed(b));
        }
    // The corner that is not pulled stays.
    b = stretched(0.2, 0.3, 0.6, 0.5);
    CHECK(b.x == Approx(0.2));
    CHECK(b.y == Approx(0.3));
    CHECK(b.w == Approx(0.4));
    b = stretched(0.7, 0.9, 0.4, 0.1);
    CHECK(b.right() == Approx(0.7));
    CHECK(b.bottom() == Approx(0.9));
}

TEST_CASE("A trimmed passage keeps of its close-up what still has a place") {
    const CloseUp c = moving(12, 16);
    CHECK(trimmed(c, span(11, 18)) == c);
    CHECK(trimmed(c, span(13, 15)).moving == span(13, 15));
    // The way lies before what is left: it has been gone.
    CHECK(trimmed(c, span(17, 19)) == CloseUp{*c.last, {}, {}});
    // It lies after: it never is.
    CHECK(trimmed(c, span(10, 11)) == CloseUp{c.first, {}, {}});
    for (const auto& s : {span(11, 18), span(13, 15), span(17, 19), span(10, 11)}) CHECK(fault_of(trimmed(c, s), s).empty());
}
