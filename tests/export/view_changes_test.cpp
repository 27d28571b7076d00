// Pictures turned, mirrored, lit, blended and steadied.
#include <catch2/catch.hpp>
#include <cmath>

#include "export/canvas.hpp"
#include "export/steadying.hpp"
#include "export/view_changes.hpp"

using namespace canalogue;
using namespace canalogue::film;

namespace {

std::shared_ptr<AVFrame> grey(Size size, std::uint8_t luma) {
    std::shared_ptr<AVFrame> f(media::make_frame(AV_PIX_FMT_YUV420P, size).release(), media::LibavDelete{});
    REQUIRE(f);
    fill_frame(*f, {128, 128, 128});
    for (int y = 0; y < size.h; ++y) std::fill_n(f->data[0] + y * f->linesize[0], size.w, luma);
    return f;
}

void block(AVFrame& f, int x, int y, int size, std::uint8_t luma) {
    for (int r = y; r < y + size; ++r) std::fill_n(f.data[0] + r * f.linesize[0] + x, size, luma);
}

int luma(const AVFrame& f, int x, int y) { return f.data[0][y * f.linesize[0] + x]; }

std::shared_ptr<AVFrame> coloured(Rgb colour) {
    auto f = grey({64, 64}, 0);
    fill_frame(*f, colour);
    return f;
}

MeanColour mean_of_whole(const AVFrame& f) {
    MeanColour m;
    m.add(f, {});
    return m;
}

}  // namespace

TEST_CASE("A mirrored picture has its left on the right, and a turned one its top where the turn brings it") {
    auto f = grey({128, 128}, 60);
    block(*f, 16, 56, 16, 220);  // at the left
    ViewChanger changer;
    ViewChange view;
    view.mirrored = true;
    auto out = changer.apply(f, view, {});
    CHECK(luma(*out, 104, 64) == 220);
    CHECK(luma(*out, 24, 64) == 60);
    view = {};
    view.turn = 90;
    out = changer.apply(f, view, {});
    CHECK(luma(*out, 64, 24) > 210);  // left goes to the top
    CHECK(luma(*out, 24, 64) == 60);
    view.turn = 45;
    out = changer.apply(f, view, {});
    CHECK(luma(*out, 2, 2) == 16);  // nothing was filmed there
    CHECK(luma(*f, 24, 64) == 220);  // the picture that came in is left alone
}

TEST_CASE("A cast is taken out by what is taken for grey, and the picture stays as light as it was") {
    const auto warm = coloured({180, 140, 110});
    const auto light = light_for(mean_of_whole(*warm), 0);
    ViewChanger changer;
    const auto out = changer.apply(warm, {}, light);
    const auto m = mean_of_whole(*out);
    CHECK(m.red / m.weight == Approx(m.green / m.weight).margin(0.012));
    CHECK(m.blue / m.weight == Approx(m.green / m.weight).margin(0.012));
    CHECK(luma(*out, 10, 10) == Approx(luma(*warm, 10, 10)).margin(2));
    CHECK(light_for(mean_of_whole(*grey({64, 64}, 120)), 0).none());
}

TEST_CASE("Black, white and covered parts do not count as a reference for grey") {
    CHECK(mean_of_whole(*grey({64, 64}, 16)).weight == 0);
    CHECK(mean_of_whole(*grey({64, 64}, 235)).weight == 0);
    CHECK(light_for({}, 0).none());
}

TEST_CASE("A stop of brightness doubles the light") {
    const auto f = grey({64, 64}, 80);
    ViewChanger changer;
    ViewChange view;
    view.brightness = 1;
    const auto out = changer.apply(f, view, light_for({}, 1));
    const double before = std::pow((80 - 16) / 219.0, 2.4), after = std::pow((luma(*out, 5, 5) - 16) / 219.0, 2.4);
    CHECK(after / before == Approx(2).epsilon(0.05));
    CHECK(out->data[1][0] == 128);  // hue is left alone
}

TEST_CASE("The mean of pictures shows what moved in all its places") {
    auto a = grey({64, 64}, 40), b = grey({64, 64}, 40);
    block(*a, 0, 0, 8, 240), block(*b, 32, 0, 8, 240);
    const auto out = mean_of({a, b});
    CHECK(luma(*out, 4, 4) == 140);
    CHECK(luma(*out, 36, 4) == 140);
    CHECK(luma(*out, 60, 60) == 40);
    CHECK(mean_of({a}).get() == a.get());
}

TEST_CASE("The window that is shown goes along with a shake, and never leaves the picture") {
    const ShareBox w = steadied({}, {0.02, -0.01});
    CHECK(w.w == Approx(1 - kSteadyRoom));
    CHECK(w.x == Approx(kSteadyRoom / 2 + 0.02));
    CHECK(w.y == Approx(kSteadyRoom / 2 - 0.01));
    const ShareBox edge = steadied({0, 0, 0.5, 0.5}, {-0.2, 0.9});
    CHECK(edge.x == 0);
    CHECK(edge.bottom() <= 1 + 1e-9);
    SteadyPath path{{0}, kSecond, {0, 0.1, 0}, {0, 0, 0.2}};
    CHECK(path.at({kSecond / 2}).first == Approx(0.05));
    CHECK(path.at({kSecond * 3 / 2}).second == Approx(0.1));
    CHECK(path.at({9 * kSecond}).second == Approx(0.2));
}
