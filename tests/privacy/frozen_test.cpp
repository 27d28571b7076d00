// Five of the frozen labelled sessions, drawn and scanned as a newcomer would, counted in pixels and seconds of the truth
// (demo_media/labelled). The whole set's figures are in docs/privacy.md; bash tests/bench/privacy/run.sh makes them.
#include <catch2/catch.hpp>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "tests/support/media_files.hpp"

using namespace canalogue::test;
using json = nlohmann::json;

namespace {

bool models_missing() {
    if (fs::exists(fs::path(CANALOGUE_MODELS_FOLDER) / "fetched.txt")) return false;
    std::fprintf(stderr, "\n*** SKIPPED: the models are not there, spotters were NOT measured; run app/setup/models.sh ***\n\n");
    return true;
}

json scored(int seed) {
    TempFolder folder;
    const std::string place = (folder / "set").string(), which = std::to_string(seed);
    run(std::string(CANALOGUE_LABELLED) + " --frozen --out '" + place + "' --only " + which + " 2>/dev/null || true");  // says so where a machine lacks its photographs
    return json::parse(run(std::string(CANALOGUE_SCORE) + " '" + place + "/" + which + "'"));
}

void keeps_the_targets(int seed) {
    if (models_missing()) return;
    const json r = scored(seed);
    INFO("session " << seed << ": " << r["where"]);
    CHECK(r["troubles"].empty());
    CHECK(r["unscanned"] == 0);
    CHECK(r["frames"] == r["frames_wanted"]);
    if (!r["text_found"].is_null()) CHECK(r["text_found"] >= .995);
    CHECK(r["outside_missed"].get<double>() <= .001 * r["outside_seconds"].get<double>());
    CHECK(r["seconds_with_an_uncovered_pixel"] == 0);
    CHECK(r["far_wholly_covered"].get<double>() <= .06 * r["inside_seconds"].get<double>());
    for (const char* kind : {"synthetic", "real"}) CHECK(r["speech"][kind]["missed"].get<double>() <= .01 * r["speech"][kind]["seconds"].get<double>());
    CHECK(r["tags_found"] == r["tags"]);
}

}  // namespace

TEST_CASE("Nothing of a labelled session shows that tells somebody: over-exposed, the rim beside the middle") { keeps_the_targets(5); }
TEST_CASE("Nothing of a labelled session shows that tells somebody: interlaced, half transparent text, without time stamps") { keeps_the_targets(2); }
TEST_CASE("Nothing of a labelled session shows that tells somebody: rectangular, blood-tinged, 60 frames a second") { keeps_the_targets(12); }
TEST_CASE("Nothing of a labelled session shows that tells somebody: other fonts, a menu that slides") { keeps_the_targets(36); }
TEST_CASE("Nothing of a labelled session shows that tells somebody: turned text, bubbles, an uneven rate") { keeps_the_targets(40); }
