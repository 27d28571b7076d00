#include "demo_media/canal_shape.hpp"

#include "demo_media/chance.hpp"

namespace canalogue::demo {

CanalShape::CanalShape(std::uint64_t seed, Ear ear) {
    Chance chance(seed ^ 0x5A9E);
    const float side = ear == Ear::right ? 1.0f : -1.0f;
    std::array<float, 8> phase{};
    for (auto& p : phase) p = chance.between(0, 6.28f);
    for (std::size_t i = 0; i < rings_.size(); ++i) {
        const float z = kFrom + flt(i) * kStep;
        Ring& r = rings_[i];
        const float in = std::max(0.0f, z);
        r.cx = side * 1.5f * (1 - std::cos(in * 0.13f));
        r.cy = -0.9f * std::sin(in * 0.12f);
        r.r = z < 0 ? 4.7f + 0.13f * z * z : mix(4.7f, 3.7f, smooth(0, 16, z)) + 0.95f * smooth(17, 25, z);
        const float fleshy = 1 - 0.6f * smooth(6, 14, z);
        r.fold_x = 0.42f * fleshy * std::sin(0.62f * z + phase[0]);
        r.fold_y = 0.30f * fleshy * std::sin(0.75f * z + phase[1]);
        r.fold_2 = 0.45f * fleshy * std::sin(0.90f * z + phase[2]);
        r.fold_xy = 0.50f * fleshy * std::sin(0.55f * z + phase[3]);
    }
    // The drum leans: its upper back edge is nearest, its lower front edge deepest.
    drum_normal_ = unit(V3{-0.24f * side, -0.30f, -1});
}

CanalShape::Ring CanalShape::ring(float z) const {
    const float at = std::clamp((z - kFrom) * (1 / kStep), 0.0f, flt(rings_.size()) - 1.01f);
    const auto i = static_cast<std::size_t>(at);
    const float t = at - flt(i);
    const Ring &a = rings_[i], &b = rings_[i + 1];
    Ring out;
    const float *pa = &a.cx, *pb = &b.cx;
    float* po = &out.cx;
    for (int k = 0; k < 8; ++k) po[k] = pa[k] + (pb[k] - pa[k]) * t;
    return out;
}

V3 CanalShape::axis(float z) const {
    const Ring r = ring(z);
    return {r.cx, r.cy, z};
}

float CanalShape::radius(float z) const {
    return ring(z).r;
}

V3 CanalShape::inward_normal(V3 p) const {
    constexpr float e = 0.06f;
    const Ring here = ring(p.z), deeper = ring(p.z + e);
    const float c = clearance_in(here, p);
    return unit(V3{clearance_in(here, {p.x + e, p.y, p.z}) - c, clearance_in(here, {p.x, p.y + e, p.z}) - c,
                   clearance_in(deeper, p) - c});
}

Eye eye_at(const CanalShape& shape, const Moment& m, std::uint64_t seed) {
    Chance chance(seed ^ 0xE7E);
    std::array<float, 10> ph{};
    for (auto& p : ph) p = chance.between(0, 6.28f);
    const float t = flt(m.t);
    // The hand sways in slow, uneven turns; breathing moves it up and down about fifteen times a minute.
    const float loose = mix(1.0f, 0.55f, smooth(2, 12, m.depth));
    const float sway_x = 0.20f * std::sin(1.3f * t + ph[0]) + 0.11f * std::sin(2.9f * t + ph[1]) +
                         0.035f * std::sin(7.7f * t + ph[2]);
    const float sway_y = 0.16f * std::sin(1.1f * t + ph[3]) + 0.09f * std::sin(3.3f * t + ph[4]) +
                         0.035f * std::sin(8.3f * t + ph[5]) + 0.15f * std::sin(1.57f * t + ph[6]);
    const float room = std::max(0.0f, shape.radius(m.depth) - 2.0f);
    const V3 axis = shape.axis(m.depth);
    const V3 at{axis.x + loose * sway_x - 0.85f * room * mix(0.8f, 1.0f, smooth(4, 14, m.depth)),
                axis.y + loose * sway_y + 0.30f * room, m.depth + 0.12f * std::sin(1.57f * t + ph[7])};
    V3 target = shape.axis(std::min(m.depth + 8.5f, kDrumZ));
    target.x += 0.35f * std::sin(0.9f * t + ph[8]) * loose,
        target.y += 0.30f * std::sin(1.05f * t + ph[9]) * loose;
    Eye eye;
    eye.at = at;
    eye.ahead = unit(target - at);
    const float roll = 0.04f * std::sin(0.7f * t + ph[2]);
    eye.right = unit(cross(V3{std::sin(roll), std::cos(roll), 0}, eye.ahead));
    eye.down = cross(eye.ahead, eye.right);
    return eye;
}

}  // namespace canalogue::demo
