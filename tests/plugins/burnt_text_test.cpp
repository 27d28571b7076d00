#include <algorithm>
#include <cstdio>
#include <filesystem>

#include "tests/plugins/drawn_scene.hpp"
#include "tests/plugins/shipped_plugins.hpp"

namespace canalogue::tests {

namespace {

using Catch::Matchers::Contains;
using Painter = std::function<cv::Mat(double seconds)>;  // the picture at that time

// Scans a span as the program does, at the samples the spotter asked for.
std::vector<Proposal> scan(const Painter& paint, cv::Size size, double length) {
    auto started = SpotterProcess::start(shipped_plugin("burnt_text"), with_models());
    if (!started) FAIL(started.failure().sentence);
    auto& spotter = *started;
    const RecordingSpan span{{0}, {nanos_from_seconds(length)}};
    REQUIRE(spotter.begin_recording({{size.width, size.height}, span.length()}).ok());
    REQUIRE(spotter.begin_span(span).ok());
    for (double t = 0; t < length; t += 1 / spotter.samples_per_second()) {
        const cv::Mat rgb = paint(t);
        const auto shown =
            spotter.frame({nanos_from_seconds(t)}, rgb.data, rgb.cols, rgb.rows, static_cast<int>(rgb.step));
        if (!shown) FAIL(shown.failure().sentence);
    }
    auto found = spotter.end_span();
    if (!found) FAIL(found.failure().sentence);
    return std::move(*found);
}

// All that the proposal covers around `seconds`: between two points of a track, both of them.
UprightBox covered_at(const Proposal& p, double seconds) {
    const RecordingTime t{nanos_from_seconds(seconds)};
    if (!p.span.holds(t)) return {};
    UprightBox covered;
    for (std::size_t i = 0; i < p.track.size(); ++i) {
        const bool last = i + 1 == p.track.size();
        const bool around =
            p.track[i].t <= t ? last || p.track[i + 1].t >= t : i == 0 || p.track[i - 1].t <= t;
        if (around) covered = hull(covered, p.track[i].box);
    }
    return covered;
}

bool covers(const Proposal& p, const cv::Rect& box, double seconds) {
    return covered_at(p, seconds).holds({box.x, box.y, box.width, box.height});
}

const Proposal* covering(const std::vector<Proposal>& found, const cv::Rect& box, double seconds) {
    const auto p =
        std::find_if(found.begin(), found.end(), [&](const auto& f) { return covers(f, box, seconds); });
    return p == found.end() ? nullptr : &*p;
}

std::string without_spaces(std::string text) {
    std::erase(text, ' ');
    return text;
}

const std::vector<DrawnText> kLines{
    {"PELLWORM, G. TEST-0004417", {40, 60}, 1, cv::Scalar::all(255), 1},
    {"2031-03-04 10:11:12", {900, 40}, .7, {255, 230, 0}, 1},
    {"Harbour Ear Clinic", {60, 690}, .8, {60, 255, 60}, .75},
    {"Left ear", {1050, 680}, 1.4, cv::Scalar::all(255), .5},
    {"DOB 01.02.1931", {560, 400}, .6, cv::Scalar::all(255), 1},  // over the view itself
};

}  // namespace

TEST_CASE("Every burnt-in line is found, covered whole and read", "[plugins]") {
    if (models_missing("burnt-in text was")) return;
    const DrawnScene scene({1280, 720});
    const auto found = scan(
        [&](double t) {
            auto rgb = scene.at(t);
            for (const auto& line : kLines) line.draw_on(rgb);
            return rgb;
        },
        scene.size(), 4);
    for (const auto& line : kLines) {
        CAPTURE(line.text);
        const auto* p = covering(found, line.box(), 2);
        REQUIRE(p);
        CHECK(p->kind == SuspectKind::text);
        CHECK(p->span == RecordingSpan{{0}, {4 * kSecond}});
        CHECK_THAT(without_spaces(p->words) + "\n", Contains(without_spaces(line.text) + "\n"));
        CHECK(p->sureness > .5);
    }
    CHECK(found.size() == kLines.size());
}

TEST_CASE("Pictures without text give no suspect", "[plugins]") {
    if (models_missing("burnt-in text was")) return;
    const cv::Size size(1280, 720);
    SECTION("a scope's view") {
        const auto seed = GENERATE(1u, 2u);
        const DrawnScene scene(size, seed);
        CHECK(scan([&](double t) { return scene.at(t); }, size, 1.75).empty());
    }
    SECTION("a scope held still") {
        const DrawnScene scene(size, 4);
        CHECK(scan([&](double) { return scene.at(0); }, size, 1.75).empty());
    }
    SECTION("noise") {
        cv::RNG random(11);
        const auto noise = [&](double) {
            cv::Mat rgb(size, CV_8UC3);
            random.fill(rgb, cv::RNG::NORMAL, cv::Scalar::all(120), cv::Scalar::all(40));
            return rgb;
        };
        CHECK(scan(noise, size, 1.75).empty());
    }
    SECTION("black") {
        CHECK(scan([&](double) { return cv::Mat(size, CV_8UC3, cv::Scalar::all(0)); }, size, 1.75).empty());
    }
}

TEST_CASE("A ticking clock is one suspect for as long as it ticks", "[plugins]") {
    if (models_missing("burnt-in text was")) return;
    const DrawnScene scene({1280, 720});
    const auto clock = [](double t) {
        char text[32];
        std::snprintf(text, sizeof text, "10:%02d:%02d:%02d", 11 + static_cast<int>(t + 55) / 60,
                      static_cast<int>(t + 55) % 60, static_cast<int>(t * 25) % 25);
        return DrawnText{text, {60, 660}, 1};
    };
    const auto found = scan(
        [&](double t) {
            auto rgb = scene.at(t);
            clock(t).draw_on(rgb);
            return rgb;
        },
        scene.size(), 5.5);
    REQUIRE(found.size() == 1);
    CHECK(found[0].span == RecordingSpan{{0}, {11 * kSecond / 2}});
    for (double t = 0; t < 5.5; t += .25) CHECK(covers(found[0], clock(t).box(), t));
}

TEST_CASE("Text that shows for one second is found, with its time", "[plugins]") {
    if (models_missing("burnt-in text was")) return;
    const DrawnScene scene({1280, 720});
    const DrawnText line{"Pellworm TEST-0004417", {30, 80}, 1};
    const double from = 2.1;
    const auto found = scan(
        [&](double t) {
            auto rgb = scene.at(t);
            if (t >= from && t < from + 1) line.draw_on(rgb);
            return rgb;
        },
        scene.size(), 5.5);
    REQUIRE(found.size() == 1);
    for (double t = from; t < from + 1; t += .1) CHECK(covers(found[0], line.box(), t));
    CHECK(found[0].span.length() <= nanos_from_seconds(3.5));  // not the whole span
}

TEST_CASE("A label that moves through the picture is covered wherever it is", "[plugins]") {
    if (models_missing("burnt-in text was")) return;
    const DrawnScene scene({1280, 720});
    const auto label = [](double t) {
        return DrawnText{"PELLWORM", {100 + static_cast<int>(t * 120), 300}, 1.2};
    };
    const auto found = scan(
        [&](double t) {
            auto rgb = scene.at(t);
            label(t).draw_on(rgb);
            return rgb;
        },
        scene.size(), 3);
    for (int tenth = 0; tenth < 30; ++tenth) {
        const double t = tenth / 10.;
        CAPTURE(t);
        CHECK(covering(found, label(t).box(), t));
    }
}

TEST_CASE("Pictures of other shapes are searched as well", "[plugins]") {
    if (models_missing("burnt-in text was")) return;
    const cv::Size size =
        GENERATE(cv::Size(720, 1280), cv::Size(1920, 1080), cv::Size(640, 480), cv::Size(322, 242));
    CAPTURE(size.width, size.height);
    const DrawnScene scene(size);
    const double scale = std::max(.5, size.height / 1000.);
    const DrawnText top{"TEST-0004417", {size.width / 20, size.height / 12}, scale};
    const DrawnText bottom{"10:11:12", {size.width / 2, size.height - 8}, scale};
    const auto found = scan(
        [&](double t) {
            auto rgb = scene.at(t);
            top.draw_on(rgb);
            bottom.draw_on(rgb);
            return rgb;
        },
        size, 1);
    CHECK(covering(found, top.box(), .5));
    CHECK(covering(found, bottom.box(), .5));
    CHECK(found.size() == 2);
}

TEST_CASE("Without its models the spotter says that it is not available", "[plugins]") {
    auto options = shipped_options();
    options.models = "/nowhere/models";
    const auto started = SpotterProcess::start(shipped_plugin("burnt_text"), options);
    REQUIRE_FALSE(started.ok());
    CHECK_THAT(started.failure().sentence,
               Contains("The spotter 'Burnt-in text' is not available:") && Contains("app/setup/models.sh"));
}

TEST_CASE("A name that shows for a moment where harmless words stand is a suspect of its own", "[plugins]") {
    if (models_missing("burnt-in text was")) return;
    const DrawnScene scene({1280, 720});
    const auto [from, until] = GENERATE(table<double, double>({{3., 4.}, {3.25, 3.75}}));
    const DrawnText harmless{"ZOOM 4x", {40, 60}, 1, cv::Scalar::all(255), 1}, name{"PELLWORM G.", {40, 60}, 1, cv::Scalar::all(255), 1};
    const auto found = scan(
        [&, from = from, until = until](double t) {
            auto rgb = scene.at(t);
            (t >= from && t < until ? name : harmless).draw_on(rgb);
            return rgb;
        },
        scene.size(), 7);
    const auto named = std::find_if(found.begin(), found.end(), [](const Proposal& p) { return without_spaces(p.words).find("PELLWORM") != std::string::npos; });
    REQUIRE(named != found.end());
    CHECK(named->words.find("ZOOM") == std::string::npos);
    CHECK(covers(*named, name.box(), from));
    CHECK(covers(*named, name.box(), until));
    CHECK(found.size() == 3);
}

}  // namespace canalogue::tests
