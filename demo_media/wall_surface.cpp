// The skin of the canal: pale and greasy with pores outside, thin, pink and veined over the bone.
#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"
#include "demo_media/noise_fields.hpp"
#include "demo_media/surfaces.hpp"

namespace canalogue::demo {

namespace {

constexpr int kWide = 640, kLong = 1280;
constexpr float kMmRound = 25.0f / kWide, kMmAlong = (kWallEnd - kWallStart) / kLong;

int row_of(float z) {
    return int((z - kWallStart) / (kWallEnd - kWallStart) * kLong);
}

// Branching threads that wander along the canal, most of them over the bone.
cv::Mat1f veins(Chance& chance) {
    cv::Mat1b ink(kLong, kWide, uchar(0));
    for (int n = 0; n < 46; ++n) {
        float x = chance.between(0, kWide), y = flt(row_of(chance.between(12, 25)));
        float heading = chance.between(-0.5f, 0.5f) + (chance.unit() < 0.5f ? 0.0f : 3.14f);
        const int steps = int(chance.between(30, 130)), strength = int(chance.between(60, 210));
        for (int i = 0; i < steps; ++i) {
            heading += chance.spread() * 0.16f;
            const float nx = x + std::sin(heading) * 4, ny = y + std::cos(heading) * 4;
            for (int wrap : {-kWide, 0, kWide})
                cv::line(ink, {int(x * 8) + wrap * 8, int(y * 8)}, {int(nx * 8) + wrap * 8, int(ny * 8)},
                         cv::Scalar(strength * (1 - 0.7 * i / steps)), i * 3 < steps ? 2 : 1, cv::LINE_AA, 3);
            x = nx, y = ny;
            if (chance.unit() < 0.02f) heading += chance.between(-1, 1);
        }
    }
    cv::Mat1f soft;
    ink.convertTo(soft, CV_32F, 1 / 255.0);
    cv::GaussianBlur(soft, soft, {}, 0.9);
    return soft;
}

struct Fields {
    cv::Mat1f mottle, grain, flush, film, crease, lump, vein, fleck;
};

Fields make_fields(std::uint64_t seed) {
    const cv::Size size(kWide, kLong);
    Chance chance(seed ^ 0xA11);
    Fields f;
    f.mottle = cloud(size, {5, 9, 5, 0.55f, true}, seed + 1);
    f.grain = cloud(size, {60, 110, 3, 0.7f, true}, seed + 2);
    f.flush = cloud(size, {3, 6, 3, 0.5f, true}, seed + 3);
    f.film = stirred(cloud(size, {6, 12, 4, 0.55f, true}, seed + 4), 30, {9, 16, 3, 0.5f, true}, seed + 5);
    f.crease = crests(size, {16, 10, 3, 0.55f, true}, seed + 6);
    f.lump = cloud(size, {4, 8, 4, 0.45f, true}, seed + 7);
    f.fleck = cloud(size, {40, 70, 3, 0.6f, true}, seed + 8);
    f.vein = veins(chance);
    return f;
}

V3 skin_colour(const Fields& f, int y, int x, float z) {
    const float inner = smooth(7, 17, z);
    V3 c = mix(V3{0.70f, 0.56f, 0.48f}, V3{0.74f, 0.45f, 0.40f}, inner);
    c = c * (0.84f + 0.34f * f.mottle(y, x) - 0.12f + 0.14f * (f.grain(y, x) - 0.5f));
    c = mix(c, V3{0.72f, 0.26f, 0.22f}, 0.55f * inner * smooth(0.5f, 0.95f, f.flush(y, x)));
    c = mix(c, V3{0.52f, 0.07f, 0.06f}, 0.75f * f.vein(y, x));
    return c * V3{1, 1 - 0.10f * f.crease(y, x), 1 - 0.12f * f.crease(y, x)};
}

}  // namespace

Surface paint_wall(std::uint64_t seed, bool after_wax) {
    const Fields f = make_fields(seed);
    Surface wall(kWide, kLong, true);
    cv::Mat1f relief(kLong, kWide);
    for (int y = 0; y < kLong; ++y)
        for (int x = 0; x < kWide; ++x) {
            const float z = kWallStart + (flt(y) + 0.5f) * kMmAlong, inner = smooth(7, 17, z);
            V3 c = skin_colour(f, y, x, z);
            const float film = (1 - inner) * smooth(0.55f, 0.85f, f.film(y, x)) * smooth(-5, 1, z);
            c = mix(c, V3{0.60f, 0.36f, 0.08f}, 0.8f * film);
            const float fleck = smooth(0.66f, 0.95f, f.fleck(y, x)) * smooth(0.55f, 0.8f, f.film(y, x));
            c = mix(c, V3{0.72f, 0.58f, 0.34f}, 0.6f * fleck);
            if (after_wax) {  // a wax film stays where the plug lay
                const float near_plug = smooth(5.5f, 8, z) * smooth(14, 11, z);
                const float left =
                    near_plug * smooth(0.35f, 0.75f, f.film(y, x) * 0.7f + f.fleck(y, x) * 0.4f);
                c = mix(c, V3{0.46f, 0.25f, 0.07f}, 0.75f * left);
            }
            if (after_wax) {  // where the plug rubbed: lower front wall, past the middle
                const float dx = (flt(x) - 0.34f * kWide) / 44, dy = (z - 16.5f) / 2.0f;
                const float sore = smooth(1.25f, 0.3f, dx * dx + dy * dy + (f.mottle(y, x) - 0.5f) * 1.6f);
                c = mix(c, V3{0.58f, 0.09f, 0.08f}, 0.75f * sore);
            }
            relief(y, x) = 0.26f * f.lump(y, x) - 0.05f * f.crease(y, x) * mix(1, 0.5f, inner) +
                           0.025f * f.grain(y, x) * mix(1, 0.75f, inner) + 0.12f * film + 0.05f * fleck;
            Texel& t = wall.texel(x, y);
            t.r = clamp01(c.x), t.g = clamp01(c.y), t.b = clamp01(c.z);
            t.wet = mix(0.5f, 0.85f, inner) * (0.5f + f.mottle(y, x)) + 0.5f * film;
            t.wet += 2.6f * smooth(0.66f, 0.82f, f.fleck(y, x)) * (0.4f + 0.6f * f.mottle(y, x));  // droplets
        }
    wall.set_relief(relief, kMmRound, kMmAlong);
    return wall;
}

Surface paint_cotton(std::uint64_t seed) {
    constexpr int kAround = 384, kAlong = 256;
    const cv::Size size(kAround, kAlong);
    const Grain swirl{6, 5, 3, 0.55f, true};
    const cv::Mat1f strands = stirred(cloud(size, {24, 70, 3, 0.8f, true}, seed + 2), 26, swirl, seed + 3);
    const cv::Mat1f threads = stirred(crests(size, {30, 22, 3, 0.7f, true}, seed + 1), 22, swirl, seed + 6);
    const cv::Mat1f lumps = cloud(size, {5, 4, 3, 0.5f, true}, seed + 7);
    const cv::Mat1f fuzz = cloud(size, {150, 90, 1, 0.8f, true}, seed + 8);
    const cv::Mat1f stain = cloud(size, {3, 3, 4, 0.55f, true}, seed + 4);
    Surface cotton(kAround, kAlong, true);
    cv::Mat1f relief(size);
    for (int y = 0; y < kAlong; ++y)
        for (int x = 0; x < kAround; ++x) {
            const float stained = smooth(0.42f, 0.85f, stain(y, x) + 0.1f + 0.3f * (0.5f - flt(y) / kAlong));
            V3 c = V3{0.56f, 0.535f, 0.50f} * (0.80f + 0.20f * strands(y, x) + 0.10f * threads(y, x));
            c = mix(c, V3{0.42f, 0.26f, 0.08f} * (0.6f + 0.6f * strands(y, x)), 0.8f * stained);
            Texel& t = cotton.texel(x, y);
            t.r = clamp01(c.x), t.g = clamp01(c.y), t.b = clamp01(c.z);
            t.wet = 0.02f + 0.25f * stained;
            t.extra = fuzz(y, x);
            relief(y, x) = 0.055f * strands(y, x) + 0.025f * threads(y, x) + 0.7f * lumps(y, x);
        }
    cotton.set_relief(relief, 12.0f / kAround, 7.0f / kAlong);
    return cotton;
}

}  // namespace canalogue::demo
