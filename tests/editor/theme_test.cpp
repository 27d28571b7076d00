#include <catch2/catch.hpp>

#include "app/editor/theme.hpp"
#include "tests/support/contrast.hpp"

using namespace canalogue;
using namespace canalogue::editor;
using namespace canalogue::test;

// WCAG 2.2, success criterion 1.4.3.
TEST_CASE("In both looks every text stands out from every ground by at least 4.5 to 1") {
    for (const Theme* t : {&dark_theme(), &light_theme()}) {
        const bool dark = t == &dark_theme();
        for (const Rgb& ground : {t->ground, t->panel, t->raised})
            for (const Rgb& text : {t->text, t->quiet, t->accent, t->danger}) {
                INFO((dark ? "dark " : "light ") << text.r << "," << text.g << "," << text.b << " on " << ground.r << "," << ground.g << "," << ground.b);
                CHECK(contrast(text, ground) >= 4.5);
            }
        CHECK(contrast(t->on_accent, t->accent) >= 4.5);
        CHECK(contrast(t->text, t->edge) >= 4.5);  // buttons under the pointer
    }
}

// Over the picture text lies on a ground of its own: it is as legible on bright wax as on black.
TEST_CASE("Words over the picture keep their contrast whatever the picture shows") {
    CHECK(contrast(film::kAmber, film::kInk) >= 4.5);
    CHECK(contrast(film::kMist, film::kInk) >= 4.5);
}
