#include "demo_media/instruments.hpp"

namespace canalogue::demo {

namespace {

bool meet_ball(V3 centre, float radius, V3 from, V3 dir, float& t) {
    const V3 m = from - centre;
    const float b = dot(m, dir), c = dot(m, m) - radius * radius, under = b * b - c;
    if (under < 0) return false;
    t = -b - std::sqrt(under);
    return t > 0.05f;
}

float turn_of(const Rod& rod, V3 n) {
    const V3 along = unit(rod.b - rod.a);
    const V3 side = unit(cross(along, std::abs(along.y) < 0.9f ? V3{0, 1, 0} : V3{1, 0, 0}));
    const V3 up = cross(along, side);
    return std::atan2(dot(n, up), dot(n, side)) * (1 / 6.2831853f) + 0.5f;
}

bool meet_side(const Rod& rod, float radius, V3 from, V3 dir, RodHit& hit) {
    const V3 ab = rod.b - rod.a;
    const float len = length(ab);
    const V3 along = ab * (1 / len), m = from - rod.a;
    const V3 md = m - along * dot(m, along), dd = dir - along * dot(dir, along);
    const float a = dot(dd, dd), b = dot(md, dd), c = dot(md, md) - radius * radius;
    const float under = b * b - a * c;
    if (under < 0 || a < 1e-8f) return false;
    const float t = (-b - std::sqrt(under)) / a;
    const float s = dot(m + dir * t, along) / len;
    if (t < 0.05f || s < 0 || s > 1) return false;
    hit.t = t, hit.part = s, hit.at = from + dir * t;
    hit.normal = unit(hit.at - (rod.a + ab * s));
    return true;
}

}  // namespace

bool meet(const Rod& rod, V3 from, V3 dir, RodHit& hit) {
    bool met = meet_side(rod, (rod.radius_a + rod.radius_b) / 2, from, dir, hit);
    if (met && rod.radius_a != rod.radius_b)
        met = meet_side(rod, mix(rod.radius_a, rod.radius_b, hit.part), from, dir, hit);
    if (rod.round_ends)
        for (int end = 0; end < 2; ++end) {
            float t = 0;
            const V3 centre = end ? rod.b : rod.a;
            if (!meet_ball(centre, end ? rod.radius_b : rod.radius_a, from, dir, t) || (met && t > hit.t))
                continue;
            met = true;
            hit.t = t, hit.at = from + dir * t, hit.normal = unit(hit.at - centre), hit.part = flt(end);
        }
    if (met) hit.turn = turn_of(rod, hit.normal);
    return met;
}

Instrument tool_in_hand(Tool tool, const Eye& eye, V3 object, float reach, bool held) {
    Instrument out;
    if (tool == Tool::none) return out;
    out.shown = true;
    const bool forceps = tool == Tool::forceps;
    // It enters beside the scope, from lower right (suction) or lower left (forceps).
    const float side = forceps ? -1.0f : 1.0f;
    const V3 hand = eye.at + eye.right * (3.4f * side) + eye.down * 2.6f - eye.ahead * 5.0f;
    const V3 away = eye.at + eye.right * (2.9f * side) + eye.down * 2.2f + eye.ahead * 0.6f;
    out.tip = mix(away, object, reach);
    if (!forceps) {
        out.rods = 1;
        out.rod[0] = {hand, out.tip, 1.0f, 0.8f, false};
        return out;
    }
    const float gap = held ? 0.85f : 0.85f + 0.9f * smooth(1.0f, 0.7f, reach);
    const V3 apart = unit(cross(out.tip - hand, V3{0.3f, 1, 0}));
    out.rods = 2;
    for (int i = 0; i < 2; ++i) {
        const V3 off = apart * (i ? gap : -gap);
        out.rod[i] = {hand + off * 0.15f, out.tip + off + unit(out.tip - hand) * 1.3f, 0.62f, 0.34f, false};
    }
    return out;
}

bool meet_tool(const Instrument& tool, V3 from, V3 dir, RodHit& hit) {
    bool met = false;
    RodHit one;
    for (int i = 0; i < tool.rods; ++i)
        if (meet(tool.rod[i], from, dir, one) && (!met || one.t < hit.t)) met = true, hit = one;
    return met;
}

V3 metal_light(const RodHit& hit, V3 dir, V3, V3 lamp) {
    const V3 l = lamp - hit.at;
    const float far = length(l), strength = 34.0f / (far * far + 6.0f);
    const V3 to_lamp = l * (1 / std::max(far, 1e-3f)), half = unit(to_lamp - dir);
    const V3 mirror = dir - hit.normal * (2 * dot(dir, hit.normal));
    const float h = std::max(0.0f, dot(hit.normal, half));
    const float h8 = h * h * h * h * h * h * h * h, h64 = h8 * h8 * h8 * h8 * h8 * h8 * h8 * h8;
    // The tunnel mirrors itself: bright skin sideways, the dark opening behind the scope.
    const float sideways = 1 - std::abs(mirror.z);
    const float brushed = 0.95f + 0.05f * std::sin(hit.turn * 190.0f);
    const V3 tunnel = mix(V3{0.05f, 0.045f, 0.05f}, V3{0.34f, 0.27f, 0.25f}, sideways * sideways);
    const float shine = 0.14f * h8 + 2.6f * h64;
    return (tunnel * 0.75f + V3{1, 1, 1.03f} * shine) * (strength * brushed);
}

}  // namespace canalogue::demo
