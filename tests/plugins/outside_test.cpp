#include "plugins/outside/stays.hpp"

#include "tests/plugins/drawn_scene.hpp"
#include "tests/plugins/shipped_plugins.hpp"

namespace canalogue::tests {

namespace {

using outside::Look;
using outside::stays_outside;

constexpr std::int64_t kTenth = 100'000'000;

// Ten looks a second: 'i' surely inside, 'o' surely outside, '?' unsure.
std::vector<Look> looks(const std::string& answers) {
    std::vector<Look> out;
    for (std::size_t i = 0; i < answers.size(); ++i)
        out.push_back({static_cast<std::int64_t>(i) * kTenth, answers[i] == 'i' ? .995 : answers[i] == 'o' ? .01 : .5});
    return out;
}

}  // namespace

TEST_CASE("A stay outside is covered from before the change to after it") {
    const auto stays = stays_outside(looks("iiiiiiiiiioooooooooooiiiiiiiiii"), 31 * kTenth);
    REQUIRE(stays.size() == 1);
    CHECK(stays[0].start_ns == 8 * kTenth);  // a little before the last picture that was surely inside
    CHECK(stays[0].end_ns == 22 * kTenth);   // and after the first that is again
    CHECK(stays[0].sureness > .9);
    // A moment that is unsure only ends with the looks that are sure.
    const auto unsure = stays_outside(looks("iiiii??????iiiii"), 16 * kTenth);
    REQUIRE(unsure.size() == 1);
    CHECK(unsure[0].start_ns == 4 * kTenth);
    CHECK(unsure[0].end_ns == 11 * kTenth);
    // Where nothing is sure near the change, the margin is the whole one.
    const auto doubtful = stays_outside(looks("iiiiii????ooooooooooo????iiiiii"), 31 * kTenth);
    REQUIRE(doubtful.size() == 1);
    CHECK(doubtful[0].start_ns <= 6 * kTenth);
    CHECK(doubtful[0].end_ns >= 25 * kTenth);
}

TEST_CASE("What is unsure counts as outside: one doubt among sure looks is none, one sure look outside is one") {
    CHECK(stays_outside(looks("iiiiiiiiii"), 10 * kTenth).empty());
    CHECK(stays_outside(looks("iiiii?iiiii"), 11 * kTenth).empty());
    CHECK(stays_outside(looks("iiiii??????iiiii"), 16 * kTenth).size() == 1);
    CHECK(stays_outside(looks("iiiiioiiiii"), 11 * kTenth).size() == 1);
    CHECK(stays_outside(looks("??????????"), 10 * kTenth).size() == 1);
}

TEST_CASE("A moment inside between two moments outside is not believed") {
    CHECK(stays_outside(looks("ooooooooiiiiiioooooooo"), 22 * kTenth).size() == 1);
    CHECK(stays_outside(looks("oooooooo" + std::string(40, 'i') + "oooooooo"), 56 * kTenth).size() == 2);
}

TEST_CASE("Where a person has marked what is inside and outside, looks are stretched so that the marks come out right") {
    std::vector<Look> dim;  // inside reads .6 here, outside .2: nothing would count as inside
    for (int i = 0; i < 40; ++i) dim.push_back({i * kTenth, i < 15 || i >= 25 ? .6 : .2});
    CHECK(stays_outside(dim, 40 * kTenth).size() == 1);
    CHECK(stays_outside(dim, 40 * kTenth)[0].end_ns - stays_outside(dim, 40 * kTenth)[0].start_ns >= 40 * kTenth);
    const auto right = stays_outside(outside::set_right(dim, .6, .2), 40 * kTenth);
    REQUIRE(right.size() == 1);
    CHECK(right[0].start_ns == 13 * kTenth);
    CHECK(right[0].end_ns == 26 * kTenth);
    // Outside that reads .97 by itself is found once it is marked; halfway between the marks is unsure, thus outside.
    std::vector<Look> bright{{0, .999}, {kTenth, .97}, {2 * kTenth, .99}};
    bright = outside::set_right(bright, .998, .97);
    CHECK(bright[0].inside > .95);
    CHECK(bright[1].inside < .3);
    CHECK(bright[2].inside < .82);
    // What is well apart already, or not marked, stays as it was.
    const auto same = looks("iio?");
    for (const auto& [in, out] : {std::pair{0.0, 0.0}, {.99, .02}, {.3, .5}}) {
        const auto kept = outside::set_right(same, in, out);
        for (std::size_t i = 0; i < same.size(); ++i) CHECK(kept[i].inside == Approx(same[i].inside).margin(.004));
    }
}

// Drawn tissue says little of real ears: docs/privacy.md has the figures of real stills.
TEST_CASE("A drawn chart of patches and bars is told to be outside") {
    const auto started = SpotterProcess::start(shipped_plugin("outside"), with_models());
    REQUIRE(started.ok());
    auto& spotter = const_cast<SpotterProcess&>(*started);
    cv::Mat chart(270, 480, CV_8UC3, cv::Scalar(200, 205, 210));
    for (int i = 0; i < 12; ++i) cv::rectangle(chart, cv::Rect(20 + 38 * i, 30 + 14 * (i % 5), 26, 150), cv::Scalar(20 * i, 255 - 20 * i, 40 + 15 * i), cv::FILLED);
    const RecordingSpan span{{0}, {2 * kSecond}};
    REQUIRE(spotter.begin_recording({{480, 270}, span.length()}).ok());
    REQUIRE(spotter.begin_span(span).ok());
    for (int i = 0; i < 20; ++i) REQUIRE(spotter.frame({i * kTenth}, chart.data, chart.cols, chart.rows, static_cast<int>(chart.step)).ok());
    auto found = spotter.end_span();
    REQUIRE(found.ok());
    REQUIRE(found->size() == 1);
    CHECK(found->front().kind == SuspectKind::outside);
    CHECK(found->front().track.empty());
    CHECK(found->front().span == span);
}

}  // namespace canalogue::tests
