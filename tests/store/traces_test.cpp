#include "tests/store/library_folder.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

Trace piece(const std::string& version, double from, std::vector<std::uint8_t> bytes, const std::string& recording = "r1") {
    return {recording, "view_gauges", version, "inside", s(.2), at(from), std::move(bytes)};
}

std::vector<Trace> kept(const Library& library, const std::string& session = "s1") {
    auto all = library.traces(session);
    REQUIRE(all.ok());
    return *all;
}

}  // namespace

TEST_CASE("Traces come back byte for byte, in order, and are no business of the journal") {
    TempFolder folder;
    const Trace first = piece("1", 0, {0, 254, 255, 10}), second = piece("1", .8, {7});
    {
        Library library = opened(folder.path());
        REQUIRE(library.commit(tagging(event("e1", "bleeding", 1))).ok());
        REQUIRE(library.keep_traces("s1", {second}).ok());
        REQUIRE(library.keep_traces("s1", {first}).ok());
        CHECK(library.journal("s1")->size() == 1);
    }
    Library library = opened(folder.path());
    CHECK(kept(library) == std::vector<Trace>{first, second});
    CHECK(kept(library, "s2").empty());
    REQUIRE(library.keep_traces("s1", {piece("1", .8, {9})}).ok());
    CHECK(kept(library)[1].bytes == std::vector<std::uint8_t>{9});
}

TEST_CASE("A gauge's new version takes the place of what its old one measured in that recording") {
    TempFolder folder;
    Library library = opened(folder.path());
    REQUIRE(library.keep_traces("s1", {piece("1", 0, {1}), piece("1", 0, {1}, "r2")}).ok());
    REQUIRE(library.keep_traces("s1", {piece("2", 0, {2})}).ok());
    CHECK(kept(library) == std::vector<Trace>{piece("2", 0, {2}), piece("1", 0, {1}, "r2")});
}

TEST_CASE("A session's traces can be erased with it") {
    TempFolder folder;
    Library library = opened(folder.path());
    REQUIRE(library.keep_traces("s1", {piece("1", 0, {1})}).ok());
    REQUIRE(library.keep_traces("s2", {piece("1", 0, {2})}).ok());
    REQUIRE(library.forget_traces("s1").ok());
    CHECK(kept(library).empty());
    CHECK(kept(library, "s2").size() == 1);
}

TEST_CASE("A library written before there were traces is brought up to date, its events whole") {
    TempFolder folder;
    {
        Library library = opened(folder.path());
        REQUIRE(library.commit(tagging(event("e1", "bleeding", 1))).ok());
    }
    sql(folder.path(), "DROP TABLE trace; PRAGMA user_version=1");
    Library library = opened(folder.path());
    CHECK(ids(library) == std::vector<std::string>{"e1"});
    REQUIRE(library.keep_traces("s1", {piece("1", 0, {1})}).ok());
    CHECK(kept(library).size() == 1);
    CHECK_FALSE(library.verify()->broken_at);
}
