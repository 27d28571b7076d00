// Where the words of pointers stand: beside what they name, and never one over another.
#include <catch2/catch.hpp>

#include "export/pointing.hpp"

using namespace canalogue;
using namespace canalogue::film;

namespace {

constexpr PictureArea kArea{0, 0, 1280, 640, {}};

Pointer pointer(PointerShape shape, double x, double y, const std::string& text) {
    return {shape, {0}, {10 * kSecond}, {{{0}, x, y}}, 0.1, 0.1, text};
}

Passage pointing(std::vector<Pointer> pointers) {
    Passage p;
    p.recording = "r1";
    p.span = {{0}, {10 * kSecond}};
    p.pointers = std::move(pointers);
    return p;
}

std::vector<WordsPlace> words_of(const Passage& p) {
    std::vector<WordsPlace> out;
    for (const auto& place : places_of_words(p, {{5 * kSecond}, 1}, kArea, 1))
        if (place) out.push_back(*place);
    return out;
}

bool overlap(const WordsPlace& a, const WordsPlace& b) { return a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h; }
bool holds(const WordsPlace& a, double x, double y) { return x > a.x && x < a.x + a.w && y > a.y && y < a.y + a.h; }

}  // namespace

TEST_CASE("Words of pointers that are near one another do not lie on each other, nor on what another points at") {
    for (const PointerShape shape : {PointerShape::arrow, PointerShape::ring, PointerShape::outline, PointerShape::words})
        for (const double apart : {0.0, 0.02, 0.06, 0.12}) {
            const Passage p = pointing({pointer(shape, 0.4, 0.4, "Hard wax"), pointer(shape, 0.4 + apart, 0.4 + apart / 2, "Skin of the canal"), pointer(PointerShape::arrow, 0.42, 0.5, "The drum")});
            const auto places = words_of(p);
            REQUIRE(places.size() == 3);
            INFO("apart by " << apart << ", shape " << static_cast<int>(shape));
            for (std::size_t i = 0; i < places.size(); ++i) {
                CHECK((places[i].x >= 0 && places[i].y >= 0 && places[i].x + places[i].w <= kArea.w && places[i].y + places[i].h <= kArea.h));
                for (std::size_t k = i + 1; k < places.size(); ++k) CHECK_FALSE(overlap(places[i], places[k]));
                for (std::size_t k = 0; k < p.pointers.size(); ++k)
                    if (k != i) CHECK_FALSE(holds(places[i], p.pointers[k].path[0].x * kArea.w, p.pointers[k].path[0].y * kArea.h));
            }
        }
}

TEST_CASE("An arrow's words stand at the end of its shaft, on the side where there is room") {
    const auto left = words_of(pointing({pointer(PointerShape::arrow, 0.3, 0.4, "Hard wax")})), right = words_of(pointing({pointer(PointerShape::arrow, 0.9, 0.4, "Hard wax")}));
    REQUIRE((left.size() == 1 && right.size() == 1));
    CHECK(left[0].x > 0.3 * kArea.w);
    CHECK(right[0].x + right[0].w < 0.9 * kArea.w);
    // The shaft is 96 pixels long, eight tenths of it across: its end lies on the box's edge.
    CHECK(left[0].x == Approx(0.3 * kArea.w + 76.8));
    CHECK((left[0].y < 0.4 * kArea.h + 57.6 && 0.4 * kArea.h + 57.6 < left[0].y + left[0].h));
}

TEST_CASE("No words of a pointer lie on the dial") {
    Passage p = pointing({pointer(PointerShape::ring, 0.85, 0.8, "A hair"), pointer(PointerShape::words, 0.95, 0.9, "Skin")});
    p.places = {{{0}, {10 * kSecond}, 4, "deep"}};
    const double edge = 20;  // the dial stands in the lower right corner, this far from the edges
    const auto places = words_of(p);
    REQUIRE(places.size() == 2);
    const auto free = words_of(pointing(p.pointers));
    const WordsPlace corner{kArea.w - edge - 140, kArea.h - edge - 170, 140, 170};  // less than it
    CHECK(std::any_of(free.begin(), free.end(), [&](const WordsPlace& w) { return overlap(w, corner); }));
    for (const auto& place : places) CHECK_FALSE(overlap(place, corner));
}
