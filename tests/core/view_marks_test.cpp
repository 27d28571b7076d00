#include "app/core/view_marks.hpp"

#include <catch2/catch.hpp>

using namespace canalogue;

namespace {

// A step of .2 s each.
Trace trace(const std::vector<double>& values) {
    Trace t;
    t.recording = "r1", t.channel = "inside", t.step = kSecond / 5;
    for (const double v : values) t.bytes.push_back(Trace::byte_of(v));
    return t;
}

RecordingSpan seconds(double from, double until) { return {{nanos_from_seconds(from)}, {nanos_from_seconds(until)}}; }

}  // namespace

TEST_CASE("What the gauge reads at the marks is told by nine in ten of its steps, and a stray step does not spoil it") {
    std::vector<double> values(100, .7);             // 20 s inside
    for (int i = 25; i < 50; ++i) values[static_cast<std::size_t>(i)] = .2;  // 5 s to 10 s outside
    values[30] = .95, values[80] = .1;
    const std::vector<ViewMark> marks{{seconds(0, 4), true}, {seconds(15, 19), true}, {seconds(5, 7), false}, {seconds(8, 10), false}};
    const auto reads = reads_at(marks, {trace(values)});
    REQUIRE(reads);
    CHECK(reads->inside == Approx(.7).margin(.01));
    CHECK(reads->outside == Approx(.2).margin(.01));
    CHECK(apart(*reads));
}

TEST_CASE("Fewer than two marks of each sort, or marks where nothing was measured, are nothing to judge by") {
    const std::vector<ViewMark> three{{seconds(0, 4), true}, {seconds(15, 19), true}, {seconds(5, 7), false}};
    CHECK_FALSE(reads_at(three, {trace(std::vector<double>(100, .7))}));
    auto marks = three;
    marks.push_back({seconds(8, 10), false});
    CHECK(reads_at(marks, {trace(std::vector<double>(100, .7))}));
    CHECK_FALSE(reads_at(marks, {trace(std::vector<double>(20, .7))}));
    CHECK_FALSE(reads_at(marks, {}));
    CHECK_FALSE(apart({.7, .7}));
    CHECK_FALSE(apart({.3, .7}));
}
