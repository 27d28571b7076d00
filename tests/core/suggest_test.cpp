#include <catch2/catch.hpp>

#include "app/core/suggest.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

// A trace of 0.2 s steps; `value(t)` in 0..1, or NaN.
template <class Value>
Trace trace(const std::string& channel, double seconds, Value value) {
    Trace t{"r1", "view_gauges", "1", channel, s(.2), at(0), {}};
    for (int i = 0; i < static_cast<int>(std::lround(seconds / .2)); ++i) t.bytes.push_back(Trace::byte_of(value(i * .2 + .001)));
    return t;
}

bool in(double t, double from, double until) { return from <= t && t < until; }

std::vector<std::string> words(const std::vector<Suggestion>& all) {
    std::vector<std::string> out;
    for (const auto& x : all) out.push_back(x.kind + " " + format_time(x.at.ns));
    return out;
}

using Words = std::vector<std::string>;
const double kNone = std::nan("");

}  // namespace

TEST_CASE("A scope that leaves the ear and comes back is suggested at its steps") {
    const auto inside = trace("inside", 20, [](double t) { return in(t, 0, 2) || in(t, 8, 11) ? .1 : .95; });
    CHECK(words(suggestions_from({inside})) == Words{"scope-in 0:02", "scope-out 0:08", "scope-in 0:11"});
}

TEST_CASE("A blink, a value that hovers, and what was not measured suggest nothing") {
    CHECK(suggestions_from({trace("inside", 20, [](double t) { return in(t, 8, 8.4) ? 0. : 1.; })}).empty());
    CHECK(suggestions_from({trace("inside", 20, [](double t) { return std::fmod(t, 2) < 1 ? .55 : .69; })}).empty());
    CHECK(suggestions_from({trace("inside", 20, [](double t) { return in(t, 8, 12) ? kNone : 1.; })}).empty());
    // Hovering round one threshold is one leaving, not ten.
    const auto hovering = trace("inside", 20, [](double t) { return t < 5 ? .9 : std::fmod(t, 2) < 1 ? .45 : .6; });
    CHECK(suggestions_from({hovering}).size() == 1);
}

TEST_CASE("Unsure counts as outside") {
    CHECK(words(suggestions_from({trace("inside", 20, [](double t) { return in(t, 8, 20) ? .49 : 1.; })})) == Words{"scope-out 0:08"});
}

TEST_CASE("A smear is a loss against the recording's own better moments, while inside") {
    // Low throughout: nothing is lost.
    CHECK(suggestions_from({trace("clarity", 20, [](double) { return .3; })}).empty());
    const auto clarity = trace("clarity", 20, [](double t) { return in(t, 8, 12) ? .2 : .4; });
    CHECK(words(suggestions_from({clarity})) == Words{"lens-smeared 0:08", "lens-wiped 0:12"});
    // A tool that passes close by is no smear.
    CHECK(suggestions_from({trace("clarity", 20, [](double t) { return in(t, 8, 8.6) ? .2 : .4; })}).empty());
    // The same while the scope is outside is no smear.
    const auto inside = trace("inside", 20, [](double t) { return in(t, 8, 12) ? 0. : 1.; });
    CHECK(words(suggestions_from({inside, clarity})) == Words{"scope-out 0:08", "scope-in 0:12"});
}

TEST_CASE("Nothing is suggested twice, nor what somebody dismissed") {
    const Suggestion out{"scope-out", "r1", at(8)};
    CHECK_FALSE(said_already(out, {}, {}));
    CHECK(said_already(out, {event("e1", "scope-out", 9.5)}, {}));
    CHECK_FALSE(said_already(out, {event("e1", "scope-out", 9.6)}, {}));
    CHECK_FALSE(said_already(out, {event("e1", "scope-in", 8)}, {}));
    CHECK_FALSE(said_already(out, {event("e1", "scope-out", 8, Ear::right, "r2")}, {}));
    CHECK(said_already(out, {}, {{"e2", "scope-out", "r1", at(6.5)}}));
    CHECK_FALSE(said_already(out, {}, {{"e2", "scope-out", "r1", at(6.4)}}));
}

TEST_CASE("Pieces that follow one another are one trace: a gap stays a gap") {
    Trace first{"r1", "g", "1", "c", s(.5), at(0), {1, 2}}, second = first, third = first;
    second.from = at(1);
    third.from = at(3);
    const auto all = joined({third, second, first});
    REQUIRE(all.size() == 2);
    CHECK(all[0].bytes == std::vector<std::uint8_t>{1, 2, 1, 2});
    CHECK(all[1].from == at(3));
}

TEST_CASE("A step's byte holds its value to half a percent, and nothing as nothing") {
    for (double v = 0; v <= 1; v += .01) {
        const Trace t{"r1", "g", "1", "c", s(.2), at(0), {Trace::byte_of(v)}};
        REQUIRE(t.value(0));
        CHECK(std::abs(*t.value(0) - v) <= .002);
    }
    CHECK(Trace::byte_of(kNone) == Trace::kNotMeasured);
}
