// The shape of a drawn ear canal and the scope's eye in it. Millimetres; z runs inwards from the
// canal's opening, x to the picture's right, y down.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "demo_media/script.hpp"
#include "demo_media/vector3.hpp"

namespace canalogue::demo {

inline constexpr float kPlugZ = 9.5f, kPlugThick = 4.0f;  // middle of the wax plug's front; its depth
inline constexpr float kDrumZ = 26.0f, kDrumRadius = 4.6f;
inline constexpr float kWide = 0.93f, kTall = 1.10f;  // the canal is an upright oval

class CanalShape {
public:
    CanalShape(std::uint64_t seed, Ear ear);

    V3 axis(float z) const;       // middle of the canal at this depth
    float radius(float z) const;  // before the oval and the folds
    // Roughly the distance to the wall, positive inside the canal; to within 0.01 mm.
    float clearance(V3 p) const {
        const float at = std::clamp((p.z - kFrom) * (1 / kStep) + 0.5f, 0.0f, flt(kRings) - 1.0f);
        return clearance_in(rings_[static_cast<std::size_t>(at)], p);
    }
    V3 inward_normal(V3 p) const;
    V3 drum_normal() const { return drum_normal_; }
    V3 drum_middle() const { return axis(kDrumZ); }

private:
    struct alignas(32) Ring {
        float cx, cy, r, fold_x, fold_y, fold_2, fold_xy, spare;
    };
    Ring ring(float z) const;
    static float clearance_in(const Ring& r, V3 p) {
        const float x = (p.x - r.cx) * (1 / kWide), y = (p.y - r.cy) * (1 / kTall);
        const float out = std::sqrt(x * x + y * y) + 1e-6f, part = 1 / out, nx = x * part, ny = y * part;
        return r.r + nx * (r.fold_x + r.fold_xy * ny) + r.fold_y * ny + r.fold_2 * (nx * nx - ny * ny) - out;
    }

    static constexpr float kFrom = -10, kStep = 0.05f;
    static constexpr std::size_t kRings = 841;  // to 32 mm
    std::array<Ring, kRings> rings_{};
    V3 drum_normal_;
};

// The eye: a fisheye whose picture edge lies kHalfView off the axis.
inline constexpr float kHalfView = 0.70f;  // radians
struct Eye {
    V3 at, right, down, ahead;
    V3 to_world(V3 d) const { return right * d.x + down * d.y + ahead * d.z; }
    V3 to_eye(V3 d) const { return {dot(d, right), dot(d, down), dot(d, ahead)}; }
};
// Where the hand and the patient's breathing put the eye at this moment.
Eye eye_at(const CanalShape& shape, const Moment& moment, std::uint64_t seed);

}  // namespace canalogue::demo
