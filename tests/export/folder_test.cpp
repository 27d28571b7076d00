#include <catch2/catch.hpp>

#include "export/folder.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

std::vector<std::string> names_in(const fs::path& folder) {
    std::vector<std::string> out;
    for (const auto& e : fs::directory_iterator(folder)) out.push_back(e.path().filename().string());
    std::sort(out.begin(), out.end());
    return out;
}

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("An export is at its destination only once it is kept, and then whole") {
    TempFolder folder;
    {
        auto out = ExportFolder::begin(folder / "clip", false);
        REQUIRE(out.ok());
        REQUIRE(write_text(*out / "manifest.json", "{}").ok());
        fs::create_directory(*out / "stills");
        REQUIRE(write_text(*out / "stills/01.txt", "x").ok());
        CHECK_FALSE(fs::exists(folder / "clip"));
        REQUIRE(out->keep().ok());
        CHECK(read_file(folder / "clip/stills/01.txt") == "x");
    }
    CHECK(names_in(folder.path()) == Names{"clip"});
}

TEST_CASE("What was not kept leaves nothing behind") {
    TempFolder folder;
    {
        auto out = ExportFolder::begin(folder / "deep/er/clip", false);
        REQUIRE(out.ok());
        REQUIRE(write_text(*out / "clip.mp4", "half").ok());
    }
    CHECK_FALSE(fs::exists(folder / "deep/er/clip"));
    CHECK(names_in(folder / "deep/er").empty());
}

TEST_CASE("A folder that holds other things is refused and left alone, with or without --replace") {
    TempFolder folder;
    fs::create_directory(folder / "thesis");
    write_file(folder / "thesis/chapter.txt", "years of work");
    for (bool replace : {false, true}) {
        auto out = ExportFolder::begin(folder / "thesis", replace);
        REQUIRE_FALSE(out.ok());
        CHECK(out.failure().trouble == Trouble::wrong_use);
    }
    write_file(folder / "file", "x");
    for (bool replace : {false, true}) CHECK_FALSE(ExportFolder::begin(folder / "file", replace).ok());
    CHECK(read_file(folder / "thesis/chapter.txt") == "years of work");
    CHECK(names_in(folder.path()) == Names{"file", "thesis"});
}

TEST_CASE("A folder with a manifest that is not of an export is no export") {
    TempFolder folder;
    fs::create_directory(folder / "site");
    write_file(folder / "site/manifest.json", R"({"name":"my web site","start_url":"/"})");
    write_file(folder / "site/index.html", "years of work");
    CHECK_FALSE(ExportFolder::begin(folder / "site", true).ok());
    CHECK(read_file(folder / "site/index.html") == "years of work");
}

TEST_CASE("Of two exports to one place the second is told so, and the first stays") {
    TempFolder folder;
    auto first = ExportFolder::begin(folder / "clip", false);
    REQUIRE(first.ok());
    fs::create_directories(folder / "clip");
    write_file(folder / "clip" / "film", "another process was faster");
    const auto kept = first->keep();
    REQUIRE_FALSE(kept.ok());
    CHECK(kept.failure().sentence.find("Another export took the place") == 0);
    CHECK(read_file(folder / "clip" / "film") == "another process was faster");
}

TEST_CASE("An earlier export is replaced when asked, as a whole, and not before the new one is done") {
    TempFolder folder;
    fs::create_directory(folder / "clip");
    write_file(folder / "clip/manifest.json", R"({"canalogue_manifest":1})");
    write_file(folder / "clip/old.txt", "old");
    CHECK_FALSE(ExportFolder::begin(folder / "clip", false).ok());
    {
        auto out = ExportFolder::begin(folder / "clip", true);
        REQUIRE(out.ok());
        REQUIRE(write_text(*out / "manifest.json", "new").ok());
        CHECK(read_file(folder / "clip/old.txt") == "old");
    }
    CHECK(read_file(folder / "clip/old.txt") == "old");  // given up: the earlier one is still there
    auto out = ExportFolder::begin(folder / "clip", true);
    REQUIRE(out.ok());
    REQUIRE(write_text(*out / "manifest.json", "new").ok());
    REQUIRE(out->keep().ok());
    CHECK(names_in(folder / "clip") == Names{"manifest.json"});
    CHECK(names_in(folder.path()) == Names{"clip"});
}

TEST_CASE("An empty folder may be the destination, also written with a slash at its end") {
    TempFolder folder;
    fs::create_directory(folder / "clip");
    auto out = ExportFolder::begin((folder / "clip").string() + "/", false);
    REQUIRE(out.ok());
    REQUIRE(write_text(*out / "a", "x").ok());
    REQUIRE(out->keep().ok());
    CHECK(names_in(folder / "clip") == Names{"a"});
}

TEST_CASE("What a killed render left behind goes with the next one, what a living one fills stays") {
    TempFolder folder;
    fs::create_directory(folder / ".clip.part-99999999");
    write_file(folder / ".clip.part-99999999/clip.mp4", "half a film");
    auto living = ExportFolder::begin(folder / "clip", false);
    REQUIRE(living.ok());
    CHECK(names_in(folder.path()).size() == 1);
    const fs::path other = folder / ".clip.part-1234567";
    fs::rename(living->path(), other);  // as if another process were filling it
    auto next = ExportFolder::begin(folder / "clip", false);
    REQUIRE(next.ok());
    CHECK(fs::exists(other));
    fs::rename(other, living->path().string() + "x");
    fs::remove_all(living->path().string() + "x");
}

TEST_CASE("A file that a person edited is kept beside the one that takes its place") {
    TempFolder folder;
    const fs::path plan = folder / "plan.json";
    CHECK(replace_text(plan, "first")->empty());
    CHECK(replace_text(plan, "first")->empty());
    CHECK(*replace_text(plan, "second") == folder / "plan.before-1.json");
    CHECK(*replace_text(plan, "third") == folder / "plan.before-2.json");
    CHECK(read_file(plan) == "third");
    CHECK(read_file(folder / "plan.before-1.json") == "first");
    CHECK(read_file(folder / "plan.before-2.json") == "second");
    CHECK(replace_text(folder / "nowhere/plan.json", "x").failure().trouble == Trouble::wrong_use);
    CHECK(replace_text("", "x").failure().trouble == Trouble::wrong_use);
    CHECK(names_in(folder.path()).size() == 3);
}
