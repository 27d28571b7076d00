// The ear drum. Painted as a right drum, where the front of the head is at the picture's right: the
// malleus handle runs from above right to the middle, the cone of light from there to about five
// o'clock. A left drum is its mirror image (seven o'clock).
#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"
#include "demo_media/noise_fields.hpp"
#include "demo_media/surfaces.hpp"

namespace canalogue::demo {

namespace {

constexpr int kSide = 640;
constexpr float kRadiusMm = 4.6f, kMmTexel = 2 * kDrumReach * kRadiusMm / kSide;

struct P2 {
    float x, y;
};
constexpr P2 kUmbo{0.0f, 0.10f}, kShortProcess{0.26f, -0.60f}, kConeWay{0.50f, 0.866f};

P2 place(int x, int y, bool mirrored) {
    const float px = (flt(x) + 0.5f) / kSide * 2 * kDrumReach - kDrumReach;
    return {mirrored ? -px : px, (flt(y) + 0.5f) / kSide * 2 * kDrumReach - kDrumReach};
}

float distance(P2 a, P2 b) {
    return std::hypot(a.x - b.x, a.y - b.y);
}

struct Along {
    float part, off;  // 0 at the first end, 1 at the second; distance from the line
};
Along along(P2 p, P2 a, P2 b) {
    const float dx = b.x - a.x, dy = b.y - a.y, len2 = dx * dx + dy * dy;
    const float t = clamp01(((p.x - a.x) * dx + (p.y - a.y) * dy) / len2);
    return {t, std::hypot(p.x - a.x - t * dx, p.y - a.y - t * dy)};
}

// Fine threads: beside the handle, round the rim, and from the rim inwards.
cv::Mat1f veins(bool mirrored, std::uint64_t seed) {
    Chance chance(seed ^ 0xD0D);
    cv::Mat1b ink(kSide, kSide, uchar(0));
    const auto px = [mirrored](P2 p) {
        const float x = mirrored ? -p.x : p.x;
        return cv::Point(int((x + kDrumReach) / (2 * kDrumReach) * kSide * 8),
                         int((p.y + kDrumReach) / (2 * kDrumReach) * kSide * 8));
    };
    const auto wander = [&](P2 p, float heading, int steps, int strength, float bend) {
        for (int i = 0; i < steps; ++i) {
            heading += chance.spread() * bend;
            const P2 n{p.x + std::cos(heading) * 0.016f, p.y + std::sin(heading) * 0.016f};
            cv::line(ink, px(p), px(n), cv::Scalar(strength * (1 - 0.8 * i / steps)), 1, cv::LINE_AA, 3);
            p = n;
        }
    };
    const float handle = std::atan2(kUmbo.y - kShortProcess.y, kUmbo.x - kShortProcess.x);
    for (int i = 0; i < 5; ++i)
        wander({kShortProcess.x + chance.between(-0.08f, 0.06f), kShortProcess.y - 0.1f}, handle,
               int(chance.between(25, 48)), 220, 0.10f);
    for (int i = 0; i < 26; ++i) {
        const float turn = chance.between(0, 6.2832f);
        const float inward = turn + 3.1416f + chance.between(-0.5f, 0.5f);
        wander({std::cos(turn), std::sin(turn)}, inward, int(chance.between(8, 30)), 130, 0.14f);
        wander({0.98f * std::cos(turn), 0.98f * std::sin(turn)}, turn + 1.57f, int(chance.between(10, 40)),
               110, 0.09f);
    }
    cv::Mat1f soft;
    ink.convertTo(soft, CV_32F, 1 / 255.0);
    cv::GaussianBlur(soft, soft, {}, 0.8);
    return soft;
}

// Rings with a bright rim: air in the fluid behind the drum.
cv::Mat2f bubbles(std::uint64_t seed) {
    Chance chance(seed ^ 0xB0B);
    cv::Mat2f out(kSide, kSide, cv::Vec2f(0, 0));  // rim, inside
    for (int i = 0; i < 10; ++i) {
        const P2 c{chance.between(-0.72f, 0.55f), chance.between(-0.40f, -0.05f)};
        const float r = 0.05f + 0.13f * chance.unit() * chance.unit();
        for (int y = 0; y < kSide; ++y)
            for (int x = 0; x < kSide; ++x) {
                const P2 p = place(x, y, true);  // only the left drum of the story has fluid
                const float d = distance(p, c) / r;
                if (d > 1.2f) continue;
                const float lit = 0.5f + 0.5f * ((c.x - p.x) + (c.y - p.y)) / r;
                out(y, x)[0] = std::max(out(y, x)[0], smooth(0.70f, 0.95f, d) * smooth(1.2f, 1.0f, d) *
                                                          (0.28f + 0.5f * lit * lit));
                out(y, x)[1] = std::max(out(y, x)[1], smooth(1.05f, 0.8f, d));
            }
    }
    return out;
}

struct Fields {
    cv::Mat1f mottle, grain, fibre, streak, vein;
};

// Threads of the drum run from the rim to the umbo: noise painted in polar order.
cv::Mat1f radial(std::uint64_t seed, bool mirrored) {
    const cv::Mat1f rays = cloud({1024, 128}, {110, 2.5f, 3, 0.7f, true}, seed);
    cv::Mat2f where(kSide, kSide);
    for (int y = 0; y < kSide; ++y)
        for (int x = 0; x < kSide; ++x) {
            const P2 p = place(x, y, mirrored);
            const float turn = std::atan2(p.y - kUmbo.y, p.x - kUmbo.x) / 6.2832f + 0.5f;
            where(y, x) = {turn * 1023, std::min(1.0f, distance(p, kUmbo) / 1.4f) * 127};
        }
    cv::Mat1f out;
    cv::remap(rays, out, where, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    return out;
}

V3 membrane_colour(const Fields& f, int y, int x, P2 p, bool fluid) {
    const float r = std::hypot(p.x, p.y), m = f.mottle(y, x);
    V3 c = mix(V3{0.47f, 0.355f, 0.385f}, V3{0.34f, 0.24f, 0.285f}, smooth(0.35f, 0.75f, m + 0.15f * p.x));
    // what lies behind shows through: the pale bulge of the inner ear, the dark beside the anvil
    c = mix(c, V3{0.58f, 0.46f, 0.44f},
            0.75f * smooth(0.62f, 0.1f, std::hypot(p.x + 0.32f, p.y - 0.34f) + 0.3f * (m - 0.5f)));
    c = c * (1 - 0.40f * smooth(0.34f, 0.08f, std::hypot((p.x + 0.30f) * 1.6f, p.y + 0.42f)));
    if (fluid) c = mix(c, V3{0.43f, 0.23f, 0.065f} * (0.5f + 0.9f * m), 0.85f);
    c = c * (0.95f + 0.10f * (f.fibre(y, x) - 0.3f)) * (0.96f + 0.12f * (f.grain(y, x) - 0.3f));
    // the slack part above the short process, and the margin, are red
    const float slack =
        smooth(0.50f, 0.10f, std::hypot((p.x - 0.2f) * 0.8f, p.y + 0.92f) + 0.25f * (m - 0.5f));
    c = mix(c, V3{0.62f, 0.30f, 0.27f}, 0.75f * slack);
    const float margin = r + 0.03f * (f.streak(y, x) - 0.5f) + 0.16f * (m - 0.5f);
    c = mix(c, V3{0.66f, 0.50f, 0.47f}, 0.35f * smooth(0.84f, 0.93f, margin));
    c = mix(c, V3{0.66f, 0.36f, 0.33f}, smooth(0.93f, 1.06f, margin));
    return mix(c, V3{0.50f, 0.09f, 0.10f}, 0.55f * f.vein(y, x));
}

// The handle: a bent, rounded ridge, broad at the short process and flattened at its end.
struct Handle {
    float body = 0;   // how much of the colour is bone
    float ridge = 0;  // height, 0..1
    float shade = 0;  // beside it
};

Handle handle_at(P2 p, float wobble) {
    const float part = along(p, kShortProcess, kUmbo).part;
    const float bow = 0.05f * (4 * part * (1 - part)) + 0.03f * (wobble - 0.5f);
    const Along h = along({p.x + bow, p.y}, kShortProcess, kUmbo);
    const float width = mix(0.11f, 0.055f, h.part) + 0.05f * smooth(0.82f, 1.0f, h.part);
    const float knob = smooth(0.17f, 0.02f, distance(p, kShortProcess));
    Handle out;
    out.ridge = std::max(std::exp(-h.off * h.off / (width * width * 0.5f)), knob);
    out.body = clamp01(0.85f * smooth(width * 1.25f, width * 0.2f, h.off) + 0.35f * knob);
    out.shade = smooth(width * 3.2f, width * 1.1f, h.off) * (1 - out.body) * (p.x < -0.02f ? 0.10f : 0.24f);
    return out;
}

// Soft ridges that run from the short process to the margin on both sides.
float folds_at(P2 p) {
    const float sag = 0.22f * (p.x - kShortProcess.x) * (p.x - kShortProcess.x);
    const P2 q{p.x, p.y + sag};
    const Along front = along(q, kShortProcess, {0.86f, -0.50f}),
                back = along(q, kShortProcess, {-0.55f, -0.62f});
    return std::max(smooth(0.13f, 0.0f, front.off) * (1 - front.part),
                    smooth(0.15f, 0.0f, back.off) * (1 - back.part) * 0.8f);
}

float cone_of_light(const Fields& f, int y, int x, P2 p) {
    const P2 d{p.x - kUmbo.x, p.y - kUmbo.y};
    const float far = d.x * kConeWay.x + d.y * kConeWay.y,
                off = std::abs(d.x * kConeWay.y - d.y * kConeWay.x);
    const float half = 0.035f + 0.20f * far;
    const float body = smooth(half, half * 0.55f, off + 0.05f * (f.streak(y, x) - 0.5f));
    return body * smooth(0.06f, 0.18f, far) * smooth(0.64f, 0.42f, far + 0.2f * (f.streak(y, x) - 0.5f)) *
           std::max(0.0f, 1.5f * f.streak(y, x) + 1.1f * f.grain(y, x) + 1.2f * f.mottle(y, x) - 1.15f);
}

}  // namespace

Surface paint_drum(std::uint64_t seed, DrumLook look) {
    const cv::Size size(kSide, kSide);
    const bool m = look.left_ear;
    const Fields f{cloud(size, {2.6f, 2.6f, 5, 0.5f}, seed + 1), cloud(size, {60, 60, 3, 0.7f}, seed + 2),
                   radial(seed + 3, m), radial(seed + 4, m), veins(m, seed)};
    const cv::Mat2f air = look.fluid ? bubbles(seed) : cv::Mat2f(size, cv::Vec2f(0, 0));
    Surface drum(kSide, kSide, false);
    cv::Mat1f relief(size);
    for (int y = 0; y < kSide; ++y)
        for (int x = 0; x < kSide; ++x) {
            const P2 p = place(x, y, m);
            const Handle bone = handle_at(p, f.mottle(y, x));
            const float fold = folds_at(p);
            V3 c = membrane_colour(f, y, x, p, look.fluid);
            c = mix(c, V3{0.46f, 0.43f, 0.30f}, 0.22f * air(y, x)[1]);
            c = mix(c, V3{0.66f, 0.42f, 0.37f}, 0.40f * fold);
            c = mix(c, V3{0.70f, 0.55f, 0.47f} * (0.85f + 0.3f * f.mottle(y, x)),
                    (look.fluid ? 0.6f : 0.8f) * bone.body * (1 - 0.6f * f.vein(y, x)));
            c = c * (1 - bone.shade);
            Texel& t = drum.texel(x, y);
            t.r = clamp01(c.x), t.g = clamp01(c.y), t.b = clamp01(c.z);
            t.wet = (look.fluid ? 0.30f : 0.34f) * (0.6f + 0.8f * f.grain(y, x)) * (1 - 0.92f * bone.body) +
                    0.5f * air(y, x)[0];
            t.extra = (look.fluid ? 0.64f : 1.0f) * cone_of_light(f, y, x, p) + 0.36f * air(y, x)[0];
            const float bowl = -1.3f * std::cos(std::min(1.57f, distance(p, kUmbo) * 1.45f));
            relief(y, x) = bowl + 0.30f * bone.ridge + 0.05f * fold + 0.30f * (f.mottle(y, x) - 0.5f) +
                           0.004f * f.fibre(y, x) + 0.009f * f.grain(y, x) + 0.05f * air(y, x)[1];
        }
    drum.set_relief(relief, kMmTexel, kMmTexel);
    return drum;
}

}  // namespace canalogue::demo
