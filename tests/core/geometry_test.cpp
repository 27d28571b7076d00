#include <catch2/catch.hpp>

#include "tests/core/values.hpp"

using namespace canalogue;

namespace {

constexpr Size kStored{7, 5};
const Rotation kAll[] = {Rotation::none, Rotation::quarter, Rotation::half, Rotation::three_quarters};

// Where stored pixel x, y appears to a person, worked out by turning the picture clockwise one
// quarter at a time: a column of the stored picture becomes a row, read from the bottom.
std::pair<int, int> shown_at(int x, int y, Rotation r) {
    Size size = kStored;
    for (int turn = 0; turn < static_cast<int>(r); turn += 90) {
        const int x2 = size.h - 1 - y, y2 = x;
        x = x2, y = y2;
        std::swap(size.w, size.h);
    }
    return {x, y};
}

}  // namespace

TEST_CASE("In every rotation each stored pixel is found again from where a person sees it") {
    for (Rotation r : kAll)
        for (int y = 0; y < kStored.h; ++y)
            for (int x = 0; x < kStored.w; ++x) {
                const auto [u, v] = shown_at(x, y, r);
                const Size upright = upright_size(kStored, r);
                REQUIRE((u >= 0 && v >= 0 && u < upright.w && v < upright.h));
                REQUIRE(stored_from_upright({u, v, 1, 1}, kStored, r) == StoredBox{x, y, 1, 1});
            }
}

TEST_CASE("A box of what a person sees covers exactly its own stored pixels, in every rotation") {
    for (Rotation r : kAll) {
        const Size upright = upright_size(kStored, r);
        for (int x = 0; x < upright.w; ++x)
            for (int y = 0; y < upright.h; ++y)
                for (int w = 1; x + w <= upright.w; ++w)
                    for (int h = 1; y + h <= upright.h; ++h) {
                        const UprightBox seen{x, y, w, h};
                        const StoredBox stored = stored_from_upright(seen, kStored, r);
                        REQUIRE(stored.area() == seen.area());
                        for (int sy = 0; sy < kStored.h; ++sy)
                            for (int sx = 0; sx < kStored.w; ++sx) {
                                const auto [u, v] = shown_at(sx, sy, r);
                                REQUIRE(stored.holds({sx, sy, 1, 1}) == seen.holds({u, v, 1, 1}));
                            }
                    }
    }
}

TEST_CASE("Hull and common part of boxes treat an empty box as nothing") {
    const StoredBox a{0, 0, 4, 4}, b{10, 2, 2, 6}, none{5, 5, 0, 3};
    CHECK(hull(a, b) == StoredBox{0, 0, 12, 8});
    CHECK(hull(a, none) == a);
    CHECK(hull(none, b) == b);
    CHECK(common(a, b).empty());
    CHECK(common(a, StoredBox{2, 3, 9, 9}) == StoredBox{2, 3, 2, 1});
    CHECK_FALSE(a.meets({4, 0, 1, 1}));  // neighbours do not meet
}
