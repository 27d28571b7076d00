// Draws the inside of the ear as light: no lens, no exposure, no burnt-in text yet.
#pragma once

#include <opencv2/core.hpp>

#include "demo_media/canal_shape.hpp"
#include "demo_media/surfaces.hpp"

namespace canalogue::demo {

struct Seen {
    cv::Mat3f light;     // linear, blue-green-red, any brightness; square, round picture inside
    cv::Mat1f distance;  // mm from the eye; 0 outside the round picture
};

// Built once for a recording; draw may be called from several threads at once.
class CanalView {
public:
    CanalView(const Script& script, std::uint64_t seed, int side);

    Seen draw(const Moment& moment) const;
    Eye eye(const Moment& moment) const { return eye_at(shape_, moment, seed_); }
    const CanalShape& shape() const { return shape_; }
    int side() const { return side_; }

private:
    struct Sight;  // one moment's objects, in canal_view.cpp
    struct Hit;
    Sight look(const Moment& moment) const;
    V3 shade(const Sight& s, V3 dir, float free, float& distance) const;
    cv::Mat1f free_way(const Sight& s) const;
    float to_wall(V3 from, V3 dir, float start, float limit) const;
    float wall_from(V3 from, V3 dir, float free) const;
    void meet_drum(const Sight& s, V3 dir, Hit& hit) const;
    void meet_plug(const Sight& s, V3 dir, V3 shift, unsigned pieces, Hit& hit) const;
    void meet_cotton(const Sight& s, V3 dir, Hit& hit) const;
    Texel inside_wax(V3 p) const;
    V3 lit(const Sight& s, V3 dir, const Hit& hit) const;
    Hit wall_hit(const Sight& s, V3 dir, float t) const;
    bool plug_solid(V3 p, unsigned pieces, float& u, float& v, float& below) const;

    std::uint64_t seed_;
    int side_;
    bool has_plug_, has_cotton_;
    const Script& script_;
    CanalShape shape_;
    Surface wall_, drum_, cotton_;
    Plug plug_;
    V3 plug_middle_;                       // of the canal at the plug
    float plug_wide_ = 1, plug_tall_ = 1;  // half width and height of the canal there
    float plug_top_ = 0;                   // highest point of the plug over its middle plane
    cv::Mat3f rays_;  // unit directions of each pixel in the eye's frame; z 0 outside the circle
};

}  // namespace canalogue::demo
