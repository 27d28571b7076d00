// A window taken out of a picture: what stays as it is, and that motion is even.
#include <catch2/catch.hpp>

#include <cmath>
#include <functional>

#include "app/media/window_sampler.hpp"

using namespace canalogue;
using namespace canalogue::media;

namespace {

using Value = std::function<double(double x, double y)>;  // x, y: pixels of the full picture

FramePtr painted(Size size, const Value& luma, const Value& cb, const Value& cr) {
    FramePtr frame = make_frame(AV_PIX_FMT_YUV420P, size);
    REQUIRE(frame);
    for (int p = 0; p < 3; ++p) {
        const int step = p ? 2 : 1;
        const Value& value = p == 0 ? luma : p == 1 ? cb : cr;
        for (int y = 0; y < size.h / step; ++y)
            for (int x = 0; x < size.w / step; ++x) frame->data[p][y * frame->linesize[p] + x] = static_cast<std::uint8_t>(std::lround(value(x * step, y * step)));
    }
    return frame;
}

FramePtr sampled(const AVFrame& from, const ShareBox& window, Size target) {
    WindowSampler sampler;
    auto out = sampler.sample(from, window, target);
    REQUIRE(out.ok());
    return std::move(*out);
}

// Averaged over a row or column band, so that steps far below one level are seen.
double mean(const AVFrame& f, int plane) {
    const int w = f.width >> (plane ? 1 : 0), h = f.height >> (plane ? 1 : 0);
    double sum = 0;
    for (int y = 0; y < h; ++y)
        for (int x = 0; x < w; ++x) sum += f.data[plane][y * f.linesize[plane] + x];
    return sum / w / h;
}

// Where the brightest spot of a row lies, weighed.
double spot(const AVFrame& f, int plane, double ground) {
    const int w = f.width >> (plane ? 1 : 0), y = (f.height >> (plane ? 1 : 0)) / 2;
    double sum = 0, at = 0;
    for (int x = 0; x < w; ++x) {
        const double v = std::max(0.0, f.data[plane][y * f.linesize[plane] + x] - ground);
        sum += v, at += v * x;
    }
    return at / sum;
}

constexpr Size kSource{640, 360}, kTarget{480, 270 & ~1};

}  // namespace

TEST_CASE("The whole picture at its own size comes out as it went in") {
    const auto grain = [](double x, double y) { return 128 + 100 * std::sin(x * 1.3 + y * 0.7) * std::sin(y * 0.9); };
    const FramePtr source = painted(kSource, grain, grain, [](double x, double) { return 20 + x / 4; });
    const FramePtr out = sampled(*source, {0, 0, 1, 1}, kSource);
    for (int p = 0; p < 3; ++p)
        for (int y = 0; y < kSource.h >> (p ? 1 : 0); ++y)
            REQUIRE(std::equal(out->data[p] + y * out->linesize[p], out->data[p] + y * out->linesize[p] + (kSource.w >> (p ? 1 : 0)), source->data[p] + y * source->linesize[p]));
}

TEST_CASE("A plain picture stays plain whatever window is taken, up to its very edge") {
    const auto plain = [](double v) { return [v](double, double) { return v; }; };
    const FramePtr source = painted(kSource, plain(235), plain(90), plain(171));
    for (const ShareBox& b : {ShareBox{0, 0, 1, 1}, ShareBox{0.8333, 0.8333, 0.1667, 0.1667}, ShareBox{0, 0.3, 0.37, 0.37}, ShareBox{0.123, 0.456, 0.4321, 0.4321}}) {
        const FramePtr out = sampled(*source, b, {1138, 640});
        for (const auto& [plane, value] : {std::pair(0, 235), std::pair(1, 90), std::pair(2, 171)})
            for (int y = 0; y < 640 >> (plane ? 1 : 0); ++y)
                for (int x = 0; x < 1138 >> (plane ? 1 : 0); ++x) REQUIRE(out->data[plane][y * out->linesize[plane] + x] == value);
    }
}

TEST_CASE("A window that moves by a fraction of a pixel a frame moves evenly, colour and light alike") {
    // Ramps: the mean tells the window's place to a small part of a pixel. Half a pixel a frame: a crop by
    // whole pixels, or by pairs of them as 4:2:0 asks for, would stand and jump. A slight slope across keeps
    // the rounding to whole levels from being the same in all of a row.
    const auto along = [](double x, double y) { return 20 + x * 200 / 640 + y / 23; };
    const auto down = [](double x, double y) { return 20 + y * 200 / 360 + x / 37; };
    const auto check = [](const AVFrame& source, double dx, double dy, double per_frame) {
        double before[3] = {0, 0, 0};
        for (int k = 0; k <= 60; ++k) {
            const FramePtr out = sampled(source, {0.2 + dx * k, 0.2 + dy * k, 0.4, 0.4}, kTarget);
            for (int p = 0; p < 3; ++p) {
                const double now = mean(*out, p);
                INFO("frame " << k << " plane " << p << ": " << before[p] << " to " << now);
                if (k > 0) CHECK(now - before[p] == Approx(per_frame).epsilon(0.2));
                before[p] = now;
            }
        }
    };
    check(*painted(kSource, along, along, along), 0.5 / 640, 0, 0.5 * 200 / 640);
    check(*painted(kSource, down, down, down), 0, 0.5 / 360, 0.5 * 200 / 360);
}

TEST_CASE("A window that closes in slowly goes steadily larger, without a step") {
    const auto bump = [](double x, double y) { return 30 + 180 * std::exp(-((x - 320) * (x - 320) + (y - 180) * (y - 180)) / 1800); };
    const FramePtr source = painted(kSource, bump, bump, bump);
    double before = 0, last_step = 0;
    for (int k = 0; k <= 80; ++k) {
        const double side = 0.6 - 0.004 * k;
        const double now = mean(*sampled(*source, {0.5 - side / 2, 0.5 - side / 2, side, side}, kTarget), 0);
        INFO(k << ": " << now);
        if (k > 0) CHECK(now > before);
        if (k > 1) CHECK(now - before == Approx(last_step).epsilon(0.15));
        last_step = now - before, before = now;
    }
}

TEST_CASE("Colour stays on what it belongs to when it is enlarged six times") {
    // Each colour sample belongs to the pixel pair that begins with the same pixel (left-sited 4:2:0).
    const auto bump = [](double x, double) { return 40 + 160 * std::exp(-(x - 320) * (x - 320) / 200); };
    const FramePtr source = painted(kSource, bump, bump, bump);
    for (double x : {0.41, 0.4167, 0.43}) {
        const FramePtr out = sampled(*source, {x, 0.4, 1.0 / 6, 1.0 / 6}, {1280, 720});
        const double luma = spot(*out, 0, 60), expected = ((320.5 - x * 640) * 1280 * 6 / 640) - 0.5;
        INFO(x);
        CHECK(luma == Approx(expected).margin(0.7));
        CHECK(2 * spot(*out, 1, 60) == Approx(luma).margin(0.7));
        CHECK(2 * spot(*out, 2, 60) == Approx(luma).margin(0.7));
    }
}

TEST_CASE("Where things get smaller, fine stripes turn to their mean instead of false ones") {
    const auto stripes = [](double x, double) { return static_cast<long>(x) % 2 ? 200.0 : 50.0; };
    const FramePtr source = painted({1280, 720}, stripes, [](double, double) { return 128; }, [](double, double) { return 128; });
    const FramePtr out = sampled(*source, {0, 0, 1, 1}, {320, 180});
    for (int x = 4; x < 316; ++x) CHECK(std::abs(out->data[0][90 * out->linesize[0] + x] - 125) < 6);
}
