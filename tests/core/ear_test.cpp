#include <catch2/catch.hpp>

#include "tests/core/values.hpp"

using namespace canalogue;

// Clock rule: facing the ear, anterior is to the viewer's right in a right ear and to the left in a
// left one (derived from anatomy; the cone of light at about 5 and 7 o'clock is published teaching).
TEST_CASE("The quadrants of both ears are the published ones") {
    struct Row {
        int from;
        const char *right, *left;
    };
    const Row rows[] = {{12, "antero-superior", "postero-superior"},
                        {3, "antero-inferior", "postero-inferior"},
                        {6, "postero-inferior", "antero-inferior"},
                        {9, "postero-superior", "antero-superior"}};
    for (const auto& row : rows)
        for (int step = 1; step < 3; ++step) {  // inside the quadrant; its borders belong to two
            const int hour = (row.from + step - 1) % 12 + 1;
            INFO(hour << " o'clock");
            CHECK(quadrant_of(Ear::right, hour) == row.right);
            CHECK(quadrant_of(Ear::left, hour) == row.left);
        }
    // The cone of light is antero-inferior in either ear.
    CHECK(quadrant_of(Ear::right, 5) == "antero-inferior");
    CHECK(quadrant_of(Ear::left, 7) == "antero-inferior");
}

TEST_CASE("Mirroring keeps 12 and 6, swaps the others, and twice is as before") {
    CHECK(mirrored_hour(12) == 12);
    CHECK(mirrored_hour(6) == 6);
    CHECK(mirrored_hour(5) == 7);
    CHECK(mirrored_hour(1) == 11);
    for (int h = 1; h <= 12; ++h) {
        CHECK(mirrored_hour(mirrored_hour(h)) == h);
        CHECK((mirrored_hour(h) >= 1 && mirrored_hour(h) <= 12));
        CHECK(quadrant_of(Ear::left, h) == quadrant_of(Ear::right, mirrored_hour(h)));
    }
}

TEST_CASE("An ear is named in full or by its letter, and never guessed") {
    CHECK(*ear_named("right") == Ear::right);
    CHECK(*ear_named("L") == Ear::left);
    CHECK(*ear_named("LEFT") == Ear::left);
    for (const char* bad : {"", "both", "re", "links", "right ", "1"}) {
        INFO(bad);
        auto ear = ear_named(bad);
        REQUIRE_FALSE(ear.ok());
        CHECK(ear.failure().trouble == Trouble::wrong_use);
    }
    CHECK(name_of(other(Ear::left)) == "right");
    CHECK(letter_of(Ear::left) == "L");
}
