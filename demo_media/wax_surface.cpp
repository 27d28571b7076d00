// A hard plug of wax: dark crust, amber where it is thin, pale crumbs, cracked into pieces.
#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"
#include "demo_media/noise_fields.hpp"
#include "demo_media/surfaces.hpp"

namespace canalogue::demo {

namespace {

constexpr int kSide = 640;
constexpr float kMmTexel = 2 * kPlugReach * 4.2f / kSide;  // at the plug the canal is 4.2 mm wide

cv::Point2f radii_of(int x, int y) {
    return {(flt(x) + 0.5f) / kSide * 2 * kPlugReach - kPlugReach,
            (flt(y) + 0.5f) / kSide * 2 * kPlugReach - kPlugReach};
}

// Which piece each texel belongs to: nearest of a few seeds, with ragged borders.
cv::Mat1b split(int pieces, std::uint64_t seed) {
    Chance chance(seed ^ 0x51AB);
    std::vector<cv::Point2f> seeds;
    for (int i = 0; i < pieces; ++i) {
        const float turn = 6.2832f * (flt(i) + 0.35f * chance.unit()) / flt(std::max(1, pieces - 1));
        const float out = i == 0 ? 0.05f : chance.between(0.5f, 0.72f);
        seeds.push_back({out * std::cos(turn), out * std::sin(turn)});
    }
    const cv::Size size(kSide, kSide);
    const cv::Mat1f dx = cloud(size, {5, 5, 5, 0.6f}, seed + 21),
                    dy = cloud(size, {5, 5, 5, 0.6f}, seed + 22);
    const cv::Mat1f ragged = cloud(size, {7, 7, 2, 0.5f}, seed + 23);
    cv::Mat1b out(size);
    for (int y = 0; y < kSide; ++y)
        for (int x = 0; x < kSide; ++x) {
            const cv::Point2f p = radii_of(x, y) + cv::Point2f(dx(y, x) - 0.5f, dy(y, x) - 0.5f) * 0.42f;
            int best = 0;
            float nearest = 1e9f;
            for (int i = 0; i < pieces; ++i) {
                const cv::Point2f d = p - seeds[i];
                const float far = d.dot(d) * (i == 0 ? 1.25f : 1.0f);
                if (far < nearest) nearest = far, best = i + 1;
            }
            const float rim = std::sqrt(radii_of(x, y).dot(radii_of(x, y))) + 0.10f * (ragged(y, x) - 0.5f);
            out(y, x) = rim < 1.06f ? uchar(best) : uchar(0);  // nothing reaches far behind the wall
        }
    return out;
}

struct Fields {
    cv::Mat1f lump, crag, tone, thin, crumb, glint, crack;
};

Fields make_fields(std::uint64_t seed, const cv::Mat1b& piece_of) {
    const cv::Size size(kSide, kSide);
    Fields f;
    f.lump = cloud(size, {3.2f, 3.2f, 5, 0.5f}, seed + 1);
    f.crag = stirred(crests(size, {9, 9, 4, 0.6f}, seed + 2), 26, {7, 7, 3, 0.5f}, seed + 3);
    f.tone = stirred(cloud(size, {3, 3, 5, 0.55f}, seed + 5), 40, {5, 5, 3, 0.5f}, seed + 6);
    f.thin = cloud(size, {2.6f, 2.6f, 4, 0.5f}, seed + 8);
    f.crumb = cloud(size, {42, 42, 4, 0.75f}, seed + 9);
    f.glint = cloud(size, {120, 120, 2, 0.8f}, seed + 10);
    cv::Mat1b edge(size, uchar(0));
    for (int y = 1; y + 1 < kSide; ++y)
        for (int x = 1; x + 1 < kSide; ++x)
            if (piece_of(y, x) != piece_of(y, x + 1) || piece_of(y, x) != piece_of(y + 1, x))
                edge(y, x) = 255;
    edge.convertTo(f.crack, CV_32F, 1 / 255.0);
    cv::GaussianBlur(f.crack, f.crack, {}, 4.0);
    f.crack *= 5;
    return f;
}

V3 wax_colour(const Fields& f, int y, int x) {
    const V3 crust{0.085f, 0.042f, 0.024f}, brown{0.22f, 0.115f, 0.055f}, amber{0.50f, 0.295f, 0.10f},
        pale{0.66f, 0.55f, 0.34f};
    const float tone = f.tone(y, x) + 0.25f * (f.lump(y, x) - 0.5f);
    V3 c = mix(crust, brown, smooth(0.18f, 0.46f, tone));
    c = mix(c, amber, smooth(0.48f, 0.80f, tone + 0.35f * (f.thin(y, x) - 0.5f)));
    c = mix(c, pale, 0.8f * smooth(0.62f, 0.85f, f.crumb(y, x) * 0.55f + tone * 0.5f));
    return c * (0.84f + 0.28f * f.crumb(y, x)) * (1 - 0.45f * clamp01(f.crack(y, x)));
}

std::vector<V3> centres_of(const Plug& plug, int pieces) {
    std::vector<V3> sum(pieces);
    std::vector<float> n(pieces, 0);
    for (int y = 0; y < kSide; ++y)
        for (int x = 0; x < kSide; ++x) {
            const int i = plug.piece_of(y, x) - 1;
            const cv::Point2f p = radii_of(x, y);
            if (i < 0 || p.dot(p) > 1) continue;
            sum[i] = sum[i] + V3{p.x, p.y, plug.front.texel(x, y).height};
            n[i] += 1;
        }
    for (int i = 0; i < pieces; ++i) sum[i] = sum[i] * (1 / std::max(1.0f, n[i]));
    return sum;
}

Surface paint_inside(std::uint64_t seed) {
    constexpr int kInside = 320;
    constexpr float kInsideMm = 6;
    const cv::Size size(kInside, kInside);
    const cv::Mat1f clod = cloud(size, {6, 6, 5, 0.6f, true}, seed + 31),
                    tone = cloud(size, {3, 3, 5, 0.6f, true}, seed + 32);
    Surface wax(kInside, kInside, true);
    for (int y = 0; y < kInside; ++y)
        for (int x = 0; x < kInside; ++x) {
            V3 c = mix(V3{0.17f, 0.085f, 0.035f}, V3{0.46f, 0.26f, 0.085f}, smooth(0.25f, 0.8f, tone(y, x)));
            c = mix(c, V3{0.60f, 0.46f, 0.24f}, 0.6f * smooth(0.62f, 0.9f, clod(y, x)));
            Texel& t = wax.texel(x, y);
            t.r = c.x, t.g = c.y, t.b = c.z, t.wet = 0.2f + 0.5f * tone(y, x);
        }
    cv::Mat1f relief;
    clod.convertTo(relief, CV_32F, 0.55);
    wax.set_relief(relief, kInsideMm / kInside, kInsideMm / kInside);
    return wax;
}

}  // namespace

Plug paint_plug(std::uint64_t seed, int pieces) {
    Plug plug{Surface(kSide, kSide, false), paint_inside(seed), split(pieces, seed), {}};
    const Fields f = make_fields(seed, plug.piece_of);
    cv::Mat1f relief(kSide, kSide);
    for (int y = 0; y < kSide; ++y)
        for (int x = 0; x < kSide; ++x) {
            const V3 c = wax_colour(f, y, x);
            const cv::Point2f p = radii_of(x, y);
            const float dome = 1 - std::min(1.3f, p.dot(p)), calm = smooth(1.1f, 0.6f, p.dot(p));
            // Height towards the viewer, mm; finest terms make the wet sparkle.
            relief(y, x) = 2.0f * dome + (0.8f + 1.7f * calm) * (f.lump(y, x) - 0.5f) + 0.20f * f.crag(y, x) -
                           0.16f * clamp01(f.crack(y, x)) + 0.07f * f.crumb(y, x) + 0.017f * f.glint(y, x);
            Texel& t = plug.front.texel(x, y);
            t.r = clamp01(c.x), t.g = clamp01(c.y), t.b = clamp01(c.z);
            t.wet = 0.25f + 1.3f * smooth(0.4f, 0.75f, f.thin(y, x) * 0.6f + f.lump(y, x) * 0.5f);
            t.wet *= 1 - 0.8f * clamp01(f.crack(y, x));
            t.extra = flt(plug.piece_of(y, x));
        }
    plug.front.set_relief(relief, kMmTexel, kMmTexel);
    plug.centres = centres_of(plug, pieces);
    return plug;
}

}  // namespace canalogue::demo
