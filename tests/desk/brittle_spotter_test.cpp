// A scan goes on whatever one spotter does: pieces overlap in time, and each is offered again to whom it broke.
#include <catch2/catch.hpp>
#include <cstdlib>

#include "app/desk/deciding.hpp"
#include "app/desk/importing.hpp"
#include "app/desk/scanning.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::test;

TEST_CASE("A spotter that crashes in every second piece of a scan is offered each of them again, and none is lost or told twice") {
    const TempFolder folder;
    const fs::path film = make_media(folder / "a.mkv", "-f lavfi -i testsrc=s=128x96:r=10:d=38 -c:v libx264 -preset ultrafast");
    setenv("CANALOGUE_PLUGINS", CANALOGUE_BRITTLE, 1);
    auto desk = desk::Desk::open(folder / "library", "tester");
    unsetenv("CANALOGUE_PLUGINS");
    REQUIRE(desk);
    desk->host.runner = CANALOGUE_RUNNER;
    desk::ImportWish wish;
    wish.session = "s1", wish.files = {film}, wish.ear = Ear::left;
    REQUIRE(desk::import_recordings(*desk, wish, [](const desk::Imported&) {}, {}));
    REQUIRE(desk::scan(*desk, "s1", {}));
    const auto lines = desk::suspects(*desk, "s1");
    REQUIRE(lines);
    std::vector<Nanos> found;
    for (const auto& line : *lines) {
        CHECK(line.unscanned_by != "outside");
        if (line.unscanned_by.empty() && line.suspect.kind == SuspectKind::outside) found.push_back(line.suspect.span.start.ns / kSecond);
    }
    CHECK(found == std::vector<Nanos>{4, 14, 24, 34});
    // A second scan has nothing left to do for it.
    REQUIRE(desk::scan(*desk, "s1", {}));
    CHECK(desk::suspects(*desk, "s1")->size() == lines->size());
}
