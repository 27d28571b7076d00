#include "plugins/faces/following.hpp"
#include "plugins/faces/surfaces.hpp"

#include <opencv2/imgcodecs.hpp>

#include "tests/plugins/drawn_scene.hpp"
#include "tests/plugins/shipped_plugins.hpp"

namespace canalogue::tests {

namespace {

using faces::Follower;
using faces::Seen;

constexpr std::int64_t kHalf = 500'000'000;

// A photograph that a Debian package carries, used where it lies and nowhere else.
constexpr const char* kPhotograph = "/usr/share/doc/opencv-doc/examples/data/messi5.jpg";

std::vector<Proposal> looked(const std::function<cv::Mat(double)>& paint, cv::Size size, double length) {
    auto started = SpotterProcess::start(shipped_plugin("faces"), with_models());
    if (!started) FAIL(started.failure().sentence);
    const RecordingSpan span{{0}, {nanos_from_seconds(length)}};
    REQUIRE(started->begin_recording({{size.width, size.height}, span.length()}).ok());
    REQUIRE(started->begin_span(span).ok());
    for (double t = 0; t < length; t += 1 / started->samples_per_second()) {
        const cv::Mat rgb = paint(t);
        REQUIRE(started->frame({nanos_from_seconds(t)}, rgb.data, rgb.cols, rgb.rows, static_cast<int>(rgb.step)).ok());
    }
    auto found = started->end_span();
    if (!found) FAIL(found.failure().sentence);
    return std::move(*found);
}

}  // namespace

TEST_CASE("A face that moves is followed, through a short absence too, and two faces are two") {
    Follower follower;
    for (int i = 0; i < 8; ++i) {
        std::vector<Seen> seen{{cv::Rect2f(900, 100, 60, 80), .6f, false}};
        if (i < 3 || i > 4) seen.push_back({cv::Rect2f(100.f + 20.f * static_cast<float>(i), 200, 60, 80), .9f, false});  // away for a second
        follower.see(i * kHalf, seen);
    }
    const auto followed = follower.take();
    REQUIRE(followed.size() == 2);
    CHECK(followed[0].sights.size() == 8);
    CHECK(followed[1].sights.size() == 6);
    CHECK(followed[1].score == .9f);
    CHECK(follower.take().empty());
}

TEST_CASE("A sheet with unreadable scribble, aslant or cut off, is something written: a bare sheet, a sleeve and a rim are nothing") {
    cv::Mat wall(360, 640, CV_8UC3, cv::Scalar(120, 140, 120));
    const auto sheet = [&](cv::Point2f at, float turned, bool scribbled) {
        cv::Mat out = wall.clone();
        cv::Point2f corners[4];
        cv::RotatedRect(at, {260, 180}, turned).points(corners);
        std::vector<cv::Point> outline(corners, corners + 4);
        cv::fillConvexPoly(out, outline, cv::Scalar(235, 232, 220), cv::LINE_AA);
        for (int row = 0; scribbled && row < 5; ++row)
            for (int k = 0; k < 12; ++k) {
                const cv::Point a(static_cast<int>(at.x) - 100 + 17 * k, static_cast<int>(at.y) - 60 + 28 * row);
                cv::line(out, a, a + cv::Point(9, (k % 3) * 5 - 4), cv::Scalar(40, 40, 60), 3, cv::LINE_AA);
            }
        return out;
    };
    for (const auto& [at, turned] : std::vector<std::pair<cv::Point2f, float>>{{{320, 180}, 0.f}, {{300, 170}, 12.f}, {{560, 200}, 5.f}}) {
        const auto found = faces::written_surfaces(sheet(at, turned, true));
        CAPTURE(at.x, turned, found.size());
        REQUIRE(found.size() == 1);
        const int left = static_cast<int>(at.x) - 130;
        CHECK(std::abs(found[0].x - left) < 34);
        CHECK(found[0].width >= std::min(250, 632 - found[0].x));
    }
    CHECK(faces::written_surfaces(sheet({320, 180}, 8, false)).empty());
    CHECK(faces::written_surfaces(wall).empty());
    cv::Mat sleeve = wall.clone();
    cv::ellipse(sleeve, {320, 300}, {180, 120}, 20, 0, 360, cv::Scalar(40, 60, 130), cv::FILLED, cv::LINE_AA);
    CHECK(faces::written_surfaces(sleeve).empty());
    cv::Mat rim(360, 640, CV_8UC3, cv::Scalar(8, 8, 8));
    cv::circle(rim, {320, 180}, 150, cv::Scalar(190, 120, 110), cv::FILLED, cv::LINE_AA);
    CHECK(faces::written_surfaces(rim).empty());
}

TEST_CASE("After a long absence, far away, or of another size it is another face") {
    for (const auto& [gap, box] : std::vector<std::pair<std::int64_t, cv::Rect2f>>{{4 * kHalf, {100, 100, 60, 80}}, {kHalf, {500, 100, 60, 80}}, {kHalf, {100, 100, 240, 320}}}) {
        Follower follower;
        follower.see(0, {{cv::Rect2f(100, 100, 60, 80), .9f, false}});
        follower.see(gap, {{box, .9f, false}});
        CHECK(follower.take().size() == 2);
    }
}

TEST_CASE("Inside an ear a face takes two nets, or the one that never saw any there") {
    using faces::SeenBy;
    const cv::Rect2f here(100, 100, 60, 80), there(400, 300, 50, 50);
    CHECK(faces::agreed({{here, .7f, false, SeenBy::soft}}).empty());
    CHECK(faces::agreed({{here, .7f, false, SeenBy::soft}, {there, .5f, true, SeenBy::people}}).empty());
    CHECK(faces::agreed({{here, .7f, false, SeenBy::soft}, {cv::Rect2f(90, 90, 90, 200), .5f, true, SeenBy::people}}).size() == 2);
    CHECK(faces::agreed({{there, .6f, false, SeenBy::ssd}}).size() == 1);
}

// Source of the picture: Debian's opencv-doc; where the face is was told by eye.
TEST_CASE("A face in a photograph is found, with its hair and ears, as long as it is there") {
    if (models_missing("faces were")) return;
    cv::Mat photograph = cv::imread(kPhotograph);
    if (photograph.empty()) {
        WARN("opencv-doc is not installed: faces in photographs were NOT tested");
        return;
    }
    cv::cvtColor(photograph, photograph, cv::COLOR_BGR2RGB);
    cv::resize(photograph, photograph, {1150, 720}, 0, 0, cv::INTER_CUBIC);
    const cv::Rect face(450, 145, 85, 130);
    const auto found = looked([&](double) { return photograph; }, photograph.size(), 2);
    const auto covers = [&](const Proposal& p) {
        return p.kind == SuspectKind::face && p.span == RecordingSpan{{0}, {2 * kSecond}} &&
               std::all_of(p.track.begin(), p.track.end(), [&](const TrackPoint& t) { return (cv::Rect(t.box.x, t.box.y, t.box.w, t.box.h) & face) == face; });
    };
    CHECK(std::any_of(found.begin(), found.end(), covers));
}

TEST_CASE("Drawn tissue holds nobody") {
    if (models_missing("faces were")) return;
    const DrawnScene scene({1280, 720});
    CHECK(looked([&](double t) { return scene.at(t); }, scene.size(), 4).empty());
}

}  // namespace canalogue::tests
