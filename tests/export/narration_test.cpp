#include <catch2/catch.hpp>

#include "export/narration.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

Spoken ramp(int rate, int count, int step) {
    Spoken s;
    s.rate = rate;
    for (int i = 0; i < count; ++i) s.samples.push_back(static_cast<std::int16_t>(i * step % 20000));
    s.words = {{0, 3, 0}};
    return s;
}

}  // namespace

TEST_CASE("Lines kept on disk come back as they were, whole or in part, and leave no file") {
    TempFolder folder;
    auto narration = Narration::in(folder.path());
    REQUIRE(narration.ok());
    const Spoken first = ramp(48000, 5000, 1), second = ramp(48000, 300, 7);
    REQUIRE(narration->add(first).ok());
    REQUIRE(narration->add(second).ok());
    CHECK(fs::is_empty(folder.path()));
    CHECK(narration->size() == 2);
    CHECK(narration->read(0, 0, 5000) == first.samples);
    CHECK(narration->read(1, 0, 300) == second.samples);
    CHECK(narration->read(1, 100, 50) == std::vector<std::int16_t>(second.samples.begin() + 100, second.samples.begin() + 150));
    CHECK(narration->read(1, 290, 50).size() == 10);
    CHECK(narration->read(1, 900, 50).empty());
    CHECK(narration->length(0) == first.length());
    CHECK(narration->words(1).size() == 1);
}

TEST_CASE("A line of another rate comes back at the film's, as long as it was") {
    TempFolder folder;
    auto narration = Narration::in(folder.path());
    REQUIRE(narration.ok());
    const Spoken line = ramp(22050, 22050, 1);
    REQUIRE(narration->add(line).ok());
    CHECK(narration->length(0) == kSecond);
    CHECK(narration->samples(0) == Approx(48000).margin(64));
}
