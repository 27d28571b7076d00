#include "demo_media/noise_fields.hpp"

#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "demo_media/chance.hpp"
#include "demo_media/vector3.hpp"

namespace canalogue::demo {

namespace {

// Cubic B-spline weights along one side: for each pixel the first of four grid cells and their shares.
// Written out because OpenCV's warps place samples on a 1/32 raster, which shows as terraces in slopes.
struct Taps {
    int first = 0;
    float share[4] = {};
};

std::vector<Taps> taps_along(int pixels, int cells) {
    std::vector<Taps> out(pixels);
    for (int i = 0; i < pixels; ++i) {
        const float at = flt(i) * flt(cells) / flt(pixels);
        const float whole = std::floor(at), t = at - whole, s = 1 - t;
        out[i].first = int(whole);
        out[i].share[0] = s * s * s / 6;
        out[i].share[1] = (3 * t * t * t - 6 * t * t + 4) / 6;
        out[i].share[2] = (3 * s * s * s - 6 * s * s + 4) / 6;
        out[i].share[3] = t * t * t / 6;
    }
    return out;
}

// One octave: random numbers on a coarse grid with three spare cells, or joined round with wrap.
cv::Mat1f octave(cv::Size size, int nx, int ny, bool wrap, Chance& chance) {
    cv::Mat1f grid(ny + 3, nx + 3);
    for (auto& v : grid) v = chance.unit();
    if (wrap)
        for (int y = 0; y < grid.rows; ++y)
            for (int m = 0; m < 3; ++m) grid(y, nx + m) = grid(y, m);
    const auto across = taps_along(size.width, nx), down = taps_along(size.height, ny);
    cv::Mat1f wide(grid.rows, size.width);
    for (int y = 0; y < grid.rows; ++y)
        for (int x = 0; x < size.width; ++x) {
            const Taps& a = across[x];
            const float* g = grid[y] + a.first;
            wide(y, x) = a.share[0] * g[0] + a.share[1] * g[1] + a.share[2] * g[2] + a.share[3] * g[3];
        }
    cv::Mat1f out(size);
    for (int y = 0; y < size.height; ++y) {
        const Taps& d = down[y];
        const float *r0 = wide[d.first], *r1 = wide[d.first + 1], *r2 = wide[d.first + 2],
                    *r3 = wide[d.first + 3];
        for (int x = 0; x < size.width; ++x)
            out(y, x) = d.share[0] * r0[x] + d.share[1] * r1[x] + d.share[2] * r2[x] + d.share[3] * r3[x];
    }
    return out;
}

}  // namespace

cv::Mat1f cloud(cv::Size size, const Grain& grain, std::uint64_t seed) {
    Chance chance(seed);
    cv::Mat1f sum(size, 0.0f);
    float weight = 1, total = 0, nx = grain.cells_x, ny = grain.cells_y;
    for (int i = 0; i < grain.octaves; ++i, weight *= grain.gain, nx *= 2, ny *= 2) {
        if (nx > flt(size.width) || ny > flt(size.height)) break;
        cv::Mat1f one = octave(size, std::max(1, int(std::lround(nx))), std::max(1, int(std::lround(ny))),
                               grain.wrap, chance);
        cv::scaleAdd(one, weight, sum, sum);
        total += weight;
    }
    // The spline narrows the spread of its draws; this brings the usual range back to about 0..1.
    constexpr double kStretch = 2.2;
    if (total > 0) sum.convertTo(sum, CV_32F, kStretch / total, 0.5 - 0.5 * kStretch);
    return sum;
}

cv::Mat1f crests(cv::Size size, const Grain& grain, std::uint64_t seed) {
    cv::Mat1f field = cloud(size, grain, seed);
    for (auto& v : field) v = std::max(0.0f, 1 - std::abs(v - 0.5f) * 6);
    return field;
}

cv::Mat1f stirred(const cv::Mat1f& field, float reach, const Grain& grain, std::uint64_t seed) {
    const cv::Mat1f dx = cloud(field.size(), grain, seed), dy = cloud(field.size(), grain, seed + 1);
    cv::Mat2f where(field.size());
    for (int y = 0; y < field.rows; ++y)
        for (int x = 0; x < field.cols; ++x)
            where(y, x) = {flt(x) + (dx(y, x) - 0.5f) * 2 * reach, flt(y) + (dy(y, x) - 0.5f) * 2 * reach};
    cv::Mat1f out;
    cv::remap(field, out, where, cv::noArray(), cv::INTER_LINEAR,
              grain.wrap ? cv::BORDER_WRAP : cv::BORDER_REFLECT);
    return out;
}

}  // namespace canalogue::demo
