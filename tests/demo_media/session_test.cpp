#include <catch2/catch.hpp>

#include <atomic>
#include <fstream>

#include "demo_media/session.hpp"
#include "opened_film.hpp"

using namespace canalogue;
namespace fs = std::filesystem;

namespace {

demo::Options small() {
    demo::Options o;
    o.size = {256, 144};
    o.seconds = 3;
    return o;
}

std::vector<std::string> names_in(const fs::path& folder) {
    std::vector<std::string> out;
    for (const auto& entry : fs::directory_iterator(folder)) out.push_back(entry.path().filename().string());
    std::sort(out.begin(), out.end());
    return out;
}

}  // namespace

TEST_CASE("The same seed makes the same bytes, another seed makes others", "[demo_media]") {
    ScratchFolder a, b, c;
    const auto first = demo::make_session(a.path / "new" / "session", small(), Progress{});
    CHECK(names_in(a.path / "new" / "session") == std::vector<std::string>{"Brackwater A 0048213 left.mp4",
                                                                           "Brackwater A 0048213 right.mp4",
                                                                           "truth.json"});
    const auto again = demo::make_session(b.path, small(), Progress{});
    auto other = small();
    other.seed = 8;
    const auto different = demo::make_session(c.path, other, Progress{});
    REQUIRE(first.ok());
    REQUIRE(again.ok());
    REQUIRE(different.ok());
    REQUIRE(first->recordings.size() == 2);
    for (std::size_t i = 0; i < 2; ++i) {
        const std::string bytes = bytes_of(first->recordings[i]);
        CHECK(bytes.size() > 5'000);
        const bool same_again = bytes == bytes_of(again->recordings[i]);  // bytes are no use on a console
        const bool same_for_other_seed = bytes == bytes_of(different->recordings[i]);
        CHECK(same_again);
        CHECK_FALSE(same_for_other_seed);
    }
    const bool same_truth = bytes_of(first->truth) == bytes_of(again->truth);
    CHECK(same_truth);
}

TEST_CASE("A stopped run leaves nothing", "[demo_media]") {
    ScratchFolder scratch;
    std::atomic<bool> stop = false;
    Progress progress;
    progress.stop = &stop;
    std::string stop_in;
    progress.report = [&](std::string_view stage, double done) {
        if (stage == stop_in && done > 0.5) stop = true;
    };
    SECTION("in the first recording") {
        stop_in = "drawing the right ear";
    }
    SECTION("in the second recording") {
        stop_in = "drawing the left ear";
    }
    SECTION("before it starts") {
        stop = true;
    }

    const auto into_new = demo::make_session(scratch.path / "made", small(), progress);
    REQUIRE_FALSE(into_new.ok());
    CHECK(into_new.failure().trouble == Trouble::cancelled);
    CHECK(names_in(scratch.path).empty());

    if (stop_in == "drawing the right ear") return;  // the rest is about where, not when
    stop = stop_in.empty();
    std::ofstream(scratch.path / "notes.txt") << "mine";
    CHECK_FALSE(demo::make_session(scratch.path, small(), progress).ok());
    CHECK(names_in(scratch.path) == std::vector<std::string>{"notes.txt"});
}

TEST_CASE("Options that cannot be are refused before anything is written", "[demo_media]") {
    ScratchFolder scratch;
    auto options = small();
    SECTION("odd width") {
        options.size.w = 321;
    }
    SECTION("tiny picture") {
        options.size = {64, 36};
    }
    SECTION("taller than wide") {
        options.size = {320, 480};
    }
    SECTION("no frames") {
        options.frames_per_second = 0;
    }
    SECTION("no time") {
        options.seconds = 0;
    }
    SECTION("time that is no number") {
        options.seconds = std::nan("");
    }
    const auto made = demo::make_session(scratch.path / "made", options, Progress{});
    REQUIRE_FALSE(made.ok());
    CHECK(made.failure().trouble == Trouble::wrong_use);
    CHECK(made.failure().sentence.back() == '.');
    CHECK(names_in(scratch.path).empty());
}

TEST_CASE("A folder that cannot be made is the machine's trouble", "[demo_media]") {
    ScratchFolder scratch;
    std::ofstream(scratch.path / "file") << "in the way";
    const auto made = demo::make_session(scratch.path / "file" / "session", small(), Progress{});
    REQUIRE_FALSE(made.ok());
    CHECK(made.failure().trouble == Trouble::machine);
}
