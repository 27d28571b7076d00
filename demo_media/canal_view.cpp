#include "demo_media/canal_view.hpp"

#include <opencv2/imgproc.hpp>

#include "demo_media/instruments.hpp"

namespace canalogue::demo {

namespace {

constexpr float kFar = 60;

cv::Mat3f eye_rays(int side) {
    cv::Mat3f rays(side, side, cv::Vec3f(0, 0, 0));
    const float half = flt(side) / 2;
    for (int y = 0; y < side; ++y)
        for (int x = 0; x < side; ++x) {
            const float dx = (flt(x) + 0.5f - half) / half, dy = (flt(y) + 0.5f - half) / half;
            const float out = std::hypot(dx, dy);
            if (out > 1.03f) continue;
            const float angle = out * kHalfView, s = out > 1e-5f ? std::sin(angle) / out : kHalfView;
            rays(y, x) = {dx * s, dy * s, std::cos(angle)};
        }
    return rays;
}

float to_power_32(float v) {
    v *= v, v *= v, v *= v, v *= v;
    return v * v;
}

}  // namespace

struct CanalView::Hit {
    float t = kFar;
    V3 at, normal;
    Texel skin;
    float glow = 0;   // how much light shines through from beside (wax)
    float glare = 0;  // the drum's cone of light
};

struct CanalView::Sight {
    Eye eye;
    V3 lamp, beam;
    unsigned standing = 0, held = 0;  // pieces of the plug, one bit each
    V3 shift;                         // of what is held
    bool cotton = false;
    Instrument tool;
};

CanalView::CanalView(const Script& script, std::uint64_t seed, int side)
    : seed_(seed),
      side_(side),
      has_plug_(script.pieces > 0),
      has_cotton_(script.cotton),
      script_(script),
      shape_(seed, script.ear),
      wall_(paint_wall(seed + 100, script.pieces > 0)),
      drum_(paint_drum(seed + 200, {script.ear == Ear::left, script.fluid})),
      rays_(eye_rays(side)) {
    if (has_plug_) plug_ = paint_plug(seed + 300, script.pieces);
    plug_middle_ = shape_.axis(kPlugZ);
    plug_wide_ = shape_.radius(kPlugZ) * kWide, plug_tall_ = shape_.radius(kPlugZ) * kTall;
    for (int y = 0; y < plug_.front.height(); ++y)
        for (int x = 0; x < plug_.front.width(); ++x)
            plug_top_ = std::max(plug_top_, plug_.front.texel(x, y).height);
    if (has_cotton_) cotton_ = paint_cotton(seed + 400);
}

CanalView::Sight CanalView::look(const Moment& m) const {
    Sight s;
    s.eye = eye(m);
    // The light leaves beside the lens and leans to that side, so one wall is always brighter.
    s.lamp = s.eye.at - s.eye.right * 1.1f + s.eye.down * 0.5f;
    s.beam = unit(s.eye.ahead - s.eye.right * 0.36f + s.eye.down * 0.12f);
    const auto place_of = [&](int piece) {
        if (piece == 0) return kCottonGrip + shape_.axis(kCottonGrip.z) * V3{1, 1, 0};
        const V3 c = plug_.centres[std::size_t(piece) - 1];
        return V3{plug_middle_.x + c.x * plug_wide_, plug_middle_.y + c.y * plug_tall_, kPlugZ - c.z - 0.1f};
    };
    for (std::size_t i = 0; i < script_.pulls.size(); ++i) {
        const int piece = script_.pulls[i].piece;
        if (piece == 0)
            s.cotton = has_cotton_ && !m.gone[i];
        else if (!m.gone[i])
            s.standing |= 1u << piece;
    }
    if (m.tool_shown && m.aim >= 0) {
        const int piece = script_.pulls[std::size_t(m.aim)].piece;
        s.tool = tool_in_hand(script_.tool, s.eye, place_of(piece), m.reach, m.held);
        if (m.held) {
            s.shift = s.tool.tip - place_of(piece);
            if (piece > 0) s.held = 1u << piece, s.standing &= ~s.held;
        }
    }
    return s;
}

float CanalView::to_wall(V3 from, V3 dir, float start, float limit) const {
    float t = start;
    for (int i = 0; i < 26 && t < limit; ++i) {
        const V3 p = from + dir * t;
        if (p.z > kWallEnd - 1) return limit;
        const float c = shape_.clearance(p);
        if (c < 0.03f) return t + c;
        t += c * 0.95f;
    }
    return std::min(t, limit);
}

// The wall beyond a stretch known to be free, by the secant rule; the wall is smooth over so short a way.
float CanalView::wall_from(V3 from, V3 dir, float free) const {
    if (free >= 0.85f * kFar) return kFar;  // past the drum
    float before = free, t = free, clear_before = shape_.clearance(from + dir * free);
    if (clear_before <= 0) return to_wall(from, dir, 0.15f, kFar);
    t += clear_before;
    for (int i = 0; i < 14; ++i) {
        const V3 p = from + dir * t;
        if (p.z > kWallEnd - 1) return kFar;
        const float clear = shape_.clearance(p);
        if (std::abs(clear) < 0.03f) break;
        const float slope = (clear_before - clear) / (t - before);
        before = t, clear_before = clear;
        // Steps stay short where the wall is near, or a ray would jump a narrow place it only grazes.
        t += std::clamp(slope > 0.02f ? clear / slope : clear, -2.0f, std::max(0.05f, 2.5f * clear));
    }
    return std::clamp(t, free, kFar);
}

CanalView::Hit CanalView::wall_hit(const Sight& s, V3 dir, float t) const {
    Hit hit;
    hit.t = t;
    hit.at = s.eye.at + dir * t;
    const V3 axis = shape_.axis(hit.at.z), n = shape_.inward_normal(hit.at);
    const float u = std::atan2((hit.at.y - axis.y) / kTall, (hit.at.x - axis.x) / kWide) * (1 / 6.2831853f);
    hit.skin = wall_.at(u, (hit.at.z - kWallStart) / (kWallEnd - kWallStart));
    const V3 round = unit(cross(V3{0, 0, 1}, -n)), along = cross(-n, round) * -1.0f;
    const V3 along_in = along.z < 0 ? -along : along;
    hit.normal = unit(n - round * hit.skin.slope_u - along_in * hit.skin.slope_v);
    return hit;
}

void CanalView::meet_drum(const Sight& s, V3 dir, Hit& hit) const {
    const V3 n = shape_.drum_normal(), middle = shape_.drum_middle();
    const float facing = dot(dir, n);
    if (facing > -0.05f) return;
    const float t = dot(middle - s.eye.at, n) / facing;
    if (t <= 0 || t > hit.t) return;
    const V3 p = s.eye.at + dir * t;
    const float u = (p.x - middle.x) / kDrumRadius, v = (p.y - middle.y) / kDrumRadius;
    if (u * u + v * v > kDrumReach * kDrumReach) return;
    hit.t = t, hit.at = p;
    hit.skin = drum_.at(0.5f + u / (2 * kDrumReach), 0.5f + v / (2 * kDrumReach));
    hit.normal = unit(n - V3{1, 0, 0} * hit.skin.slope_u - V3{0, 1, 0} * hit.skin.slope_v);
    hit.glare = hit.skin.extra;
    // the groove round the drum lies in shadow
    const float groove = smooth(0.98f, 1.06f, std::sqrt(u * u + v * v));
    hit.skin.r *= 1 - 0.45f * groove, hit.skin.g *= 1 - 0.6f * groove, hit.skin.b *= 1 - 0.6f * groove;
}

bool CanalView::plug_solid(V3 p, unsigned pieces, float& u, float& v, float& below) const {
    u = 0.5f + (p.x - plug_middle_.x) / (plug_wide_ * 2 * kPlugReach);
    v = 0.5f + (p.y - plug_middle_.y) / (plug_tall_ * 2 * kPlugReach);
    if (u <= 0 || u >= 1 || v <= 0 || v >= 1 || p.z > kPlugZ + kPlugThick) return false;
    const int side = plug_.front.width();
    const int piece = plug_.piece_of(int(v * flt(side)), int(u * flt(side)));
    if (!(pieces >> piece & 1u)) return false;
    below = p.z - (kPlugZ - plug_.front.height_at(u, v));
    return below > 0;
}

// Broken wax is looked up along a plane cut slantwise through the plug, so no side shows stripes.
Texel CanalView::inside_wax(V3 p) const {
    const auto folded = [](float v) { return std::abs(v - 2 * std::floor(v * 0.5f + 0.5f)); };
    return plug_.inside.at(0.17f * p.x + 0.12f * p.z, folded(0.16f * p.y - 0.11f * p.z));
}

void CanalView::meet_plug(const Sight& s, V3 dir, V3 shift, unsigned pieces, Hit& hit) const {
    constexpr float kStride = 0.45f;
    if (dir.z < 0.2f) return;
    const V3 from = s.eye.at - shift;
    const float first = std::max(0.2f, (kPlugZ - plug_top_ - from.z) / dir.z);
    const float last = std::min(hit.t, (kPlugZ + kPlugThick - from.z) / dir.z);
    float before = first, u = 0, v = 0, below = 0;
    for (float t = first; t < last; t += kStride / dir.z) {
        if (plug_solid(from + dir * t, pieces, u, v, below)) {
            float open = before, solid = t;
            for (int i = 0; i < 5; ++i) {
                const float middle = (open + solid) / 2;
                (plug_solid(from + dir * middle, pieces, u, v, below) ? solid : open) = middle;
            }
            if (!plug_solid(from + dir * solid, pieces, u, v, below)) return;
            hit.t = solid, hit.at = s.eye.at + dir * solid, hit.glare = 0;
            const float broken = smooth(0.06f, 0.22f, below);  // a broken side, not the front
            hit.skin = broken > 0.5f ? inside_wax(from + dir * solid) : plug_.front.at(u, v);
            const V3 front = unit(V3{-hit.skin.slope_u, -hit.skin.slope_v, -1});
            const V3 face = unit(V3{-dir.x * 2 - hit.skin.slope_u, -dir.y * 2 - hit.skin.slope_v, -0.25f});
            hit.normal = unit(mix(front, face, broken));
            const V3 c = hit.skin.colour() * (1 - 0.6f * smooth(0.3f, 3.4f, below));
            hit.skin.r = c.x, hit.skin.g = c.y, hit.skin.b = c.z;
            hit.skin.wet *= 1 - 0.75f * broken;
            hit.glow = 1;
            return;
        }
        before = t;
    }
}

void CanalView::meet_cotton(const Sight& s, V3 dir, Hit& hit) const {
    const V3 axis = shape_.axis(kCottonGrip.z) * V3{1, 1, 0};
    const V3 from = s.eye.at - s.shift - axis;
    const Rod bud{kCottonGrip + V3{0, 0, 0.4f}, kCottonEnd, 2.05f, 1.75f, true};
    const Rod stick{kCottonEnd, kCottonEnd + (kCottonEnd - kCottonGrip) * 0.9f, 0.5f, 0.5f, false};
    RodHit rod;
    if (meet(stick, from, dir, rod) && rod.t < hit.t) {
        hit.t = rod.t, hit.at = s.eye.at + dir * rod.t, hit.normal = rod.normal, hit.glare = 0;
        hit.skin = {0.42f, 0.55f, 0.66f, 0.8f};
    }
    if (!meet(bud, from, dir, rod) || rod.t >= hit.t) return;
    const V3 on = rod.at - bud.a;  // the wool is looked up along a slanting plane: no seams at the round end
    const Texel t = cotton_.at(0.13f * on.x + 0.05f * on.z, 0.5f + 0.11f * on.y - 0.05f * on.z);
    // Loose fibres: towards its outline the bud lets some rays through.
    if (dot(rod.normal, -dir) < 0.24f * (1.0f - t.extra)) return;
    const V3 along = unit(bud.b - bud.a), round = cross(along, rod.normal);
    hit.t = rod.t, hit.at = s.eye.at + dir * rod.t, hit.skin = t, hit.glare = 0;
    hit.normal = unit(rod.normal - round * t.slope_u - along * t.slope_v);
}

// The lamp sits beside the lens, so light falls off with distance from the eye, faces turned to it
// are bright, and wet faces throw it straight back. Skin and wax let some light through sideways.
V3 CanalView::lit(const Sight& s, V3 dir, const Hit& hit) const {
    const V3 l = s.lamp - hit.at;
    const float far = length(l);
    const V3 to_lamp = l * (1 / std::max(far, 1e-3f)), half = unit(to_lamp - dir);
    const float off = 1 - std::max(0.0f, -dot(to_lamp, s.beam));
    const float strength = 40.0f / (far * far + 1.6f) / (1 + 9.0f * off * off + 2.2f * off);
    const float facing = std::max(0.0f, dot(hit.normal, to_lamp));
    const float through = 0.30f * (1 - facing);
    const V3 tint = hit.glow > 0 ? V3{0.85f, 0.42f, 0.12f} : V3{0.85f, 0.42f, 0.34f};
    V3 light = V3{facing, facing, facing} + tint * through;
    const V3 bounce = V3{0.10f, 0.058f, 0.046f} * (30.0f / (far * 5 + 25));
    V3 out = hit.skin.colour() * (light * strength + bounce);
    const float h = std::max(0.0f, dot(hit.normal, half));
    const float h32 = to_power_32(h), h64 = h32 * h32, h256 = h64 * h64 * h64 * h64;
    const float shine = hit.skin.wet * strength * (0.16f * h32 + 0.9f * h64 + 3.2f * h256) +
                        hit.glare * strength * (0.7f + 2.2f * h32);
    return out + V3{0.97f, 0.98f, 1.03f} * shine;
}

// How far each pixel's ray surely runs free of the wall: traced for a coarse grid, less a margin, so
// that the pixels' own rays need only a few steps more.
cv::Mat1f CanalView::free_way(const Sight& s) const {
    constexpr int kCell = 6;
    const int n = side_ / kCell + 2;
    cv::Mat1f coarse(n, n);
    for (int y = 0; y < n; ++y)
        for (int x = 0; x < n; ++x) {
            const cv::Vec3f& ray = rays_(std::min(y * kCell, side_ - 1), std::min(x * kCell, side_ - 1));
            coarse(y, x) =
                ray[2] > 0 ? to_wall(s.eye.at, s.eye.to_world({ray[0], ray[1], ray[2]}), 0.15f, kFar) : kFar;
        }
    // A narrow place seen edge-on may lie between grid points; its neighbours have met it.
    cv::erode(coarse, coarse, cv::Mat());
    cv::Mat1f out(side_, side_);
    for (int y = 0; y < side_; ++y)
        for (int x = 0; x < side_; ++x) {
            const int cx = x / kCell, cy = y / kCell;
            out(y, x) = 0.94f * std::min({coarse(cy, cx), coarse(cy, cx + 1), coarse(cy + 1, cx),
                                          coarse(cy + 1, cx + 1)});
        }
    return out;
}

V3 CanalView::shade(const Sight& s, V3 dir, float free, float& distance) const {
    const float wall = wall_from(s.eye.at, dir, free);
    Hit hit;
    hit.t = wall;
    if (has_plug_ && s.standing) meet_plug(s, dir, {}, s.standing, hit);
    if (s.held) meet_plug(s, dir, s.shift, s.held, hit);
    if (s.cotton) meet_cotton(s, dir, hit);
    RodHit metal;
    if (s.tool.shown && meet_tool(s.tool, s.eye.at, dir, metal) && metal.t < hit.t) {
        distance = metal.t;
        return metal_light(metal, dir, s.eye.at, s.lamp);
    }
    if (hit.t < wall) {
        distance = hit.t;
        return lit(s, dir, hit);
    }
    // The drum grows out of the wall: where they meet, one passes into the other.
    meet_drum(s, dir, hit);
    distance = std::min(hit.t, wall);
    const float drum = hit.t < wall ? smooth(0, 0.7f, wall - hit.t) : 0.0f;
    if (drum >= 1) return lit(s, dir, hit);
    const V3 skin = lit(s, dir, wall_hit(s, dir, wall));
    return drum > 0 ? mix(skin, lit(s, dir, hit), drum) : skin;
}

Seen CanalView::draw(const Moment& moment) const {
    const Sight s = look(moment);
    const cv::Mat1f free = free_way(s);
    Seen seen{cv::Mat3f(side_, side_, cv::Vec3f(0, 0, 0)), cv::Mat1f(side_, side_, 0.0f)};
    for (int y = 0; y < side_; ++y)
        for (int x = 0; x < side_; ++x) {
            const cv::Vec3f& ray = rays_(y, x);
            if (ray[2] <= 0) continue;
            const V3 c = shade(s, s.eye.to_world({ray[0], ray[1], ray[2]}), free(y, x), seen.distance(y, x));
            seen.light(y, x) = {c.z, c.y, c.x};
        }
    return seen;
}

}  // namespace canalogue::demo
