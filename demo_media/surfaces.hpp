// What the ear is made of: painted surfaces that the canal view looks up. Made once for a recording,
// then only read, from any thread.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <vector>

#include "demo_media/vector3.hpp"

namespace canalogue::demo {

// Reflectance is linear light, 0..1. Slopes are height change per unit of length on the surface,
// dimensionless, along u and v. wet scales the highlight; extra is told by each surface.
struct alignas(32) Texel {
    float r = 0, g = 0, b = 0, wet = 0, height = 0, slope_u = 0, slope_v = 0, extra = 0;
    V3 colour() const { return {r, g, b}; }
};

class Surface {
public:
    Surface() = default;
    Surface(int width, int height, bool wraps)
        : w_(width), h_(height), wraps_(wraps), texels_(width * height) {}

    int width() const { return w_; }
    int height() const { return h_; }
    Texel& texel(int x, int y) { return texels_[std::size_t(y) * w_ + x]; }
    const Texel& texel(int x, int y) const { return texels_[std::size_t(y) * w_ + x]; }
    // u, v in 0..1, held at the edges (u goes round when the surface wraps); blends four texels.
    Texel at(float u, float v) const;
    float height_at(float u, float v) const;

    // Fills height and slopes from a height picture (mm); one texel measures mm_u by mm_v.
    void set_relief(const cv::Mat1f& height_mm, float mm_u, float mm_v);

private:
    struct Corner {
        const Texel *a, *b, *c, *d;
        float fx, fy;
    };
    Corner corner(float u, float v) const;

    int w_ = 0, h_ = 0;
    bool wraps_ = false;
    std::vector<Texel> texels_;
};

// Canal wall: u once round (0 at the picture's right, growing clockwise), v along the canal.
inline constexpr float kWallStart = -9, kWallEnd = 31;  // mm; 0 is the opening of the canal
Surface paint_wall(std::uint64_t seed, bool after_wax);

// Front of the wax plug: u and v span -1.15..1.15 canal radii across. extra: which piece (1..pieces).
inline constexpr float kPlugReach = 1.15f;
struct Plug {
    Surface front;
    Surface inside;           // broken wax; wraps, 6 mm across each way
    cv::Mat1b piece_of;       // the front's size; 0 is no wax
    std::vector<V3> centres;  // of each piece, in canal radii (x, y), z the mean height in mm
};
Plug paint_plug(std::uint64_t seed, int pieces);

// Drum: u and v span -1.2..1.2 drum radii. extra: strength of the cone of light.
inline constexpr float kDrumReach = 1.2f;
struct DrumLook {
    bool left_ear = false;  // mirrors handle and cone of light
    bool fluid = false;     // dull, amber, bubbles behind
};
Surface paint_drum(std::uint64_t seed, DrumLook look);

// Wound cotton: u round the tip, v along it.
Surface paint_cotton(std::uint64_t seed);

}  // namespace canalogue::demo
