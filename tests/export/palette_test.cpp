#include <catch2/catch.hpp>

#include "export/palette.hpp"
#include "tests/core/values.hpp"
#include "tests/support/contrast.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

TEST_CASE("The contrast formula gives the published values") {
    CHECK(contrast({0x76, 0x76, 0x76}, {255, 255, 255}) == Approx(4.542).margin(0.001));
    CHECK(contrast({0x77, 0x77, 0x77}, {255, 255, 255}) == Approx(4.478).margin(0.001));
    CHECK(contrast({0, 0, 0}, {255, 255, 255}) == Approx(21));
}

// Success criterion 1.4.3.
TEST_CASE("Every text colour stands out from every ground by at least 4.5 to 1") {
    for (const Rgb& ground : {kInk, kSlate})
        for (const Rgb& text : {kMist, kDim, kAmber}) {
            INFO(text.r << "," << text.g << "," << text.b << " on " << ground.r);
            CHECK(contrast(text, ground) >= 4.5);
        }
}

// Success criterion 1.4.11: a mark needs 3:1, by its own colour or by its light edge.
TEST_CASE("Every kind's mark, or the edge around it, stands out from the ground by at least 3 to 1") {
    for (const auto& kind : ear_care().kinds()) {
        const Rgb c = rgb_from(kind.symbol.colour);
        INFO(kind.id << " " << kind.symbol.colour << " " << contrast(c, kInk));
        CHECK(std::max(contrast(c, kInk), contrast(kMist, kInk)) >= 3);
        CHECK(contrast(kMist, kInk) >= 3);
    }
}

TEST_CASE("Colours are read in either case, and what is no colour is the text colour") {
    CHECK(rgb_from("#56B4E9").g == 0xB4);
    CHECK(rgb_from("#56b4e9").b == 0xE9);
    for (const char* bad : {"", "red", "#12345", "#gggggg"}) CHECK(rgb_from(bad).r == kMist.r);
}
