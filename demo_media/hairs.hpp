// The hairs of the outer canal, drawn as thin threads over the finished view.
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "demo_media/canal_shape.hpp"

namespace canalogue::demo {

// How much of each pixel the threads cover (0..255): those within focus, and those close before the lens.
struct HairInk {
    cv::Mat1b dark, bright, near;
};

// Read-only once made; draw may be called from several threads.
class Hairs {
public:
    Hairs(const CanalShape& shape, std::uint64_t seed);
    // `distance` is what lies behind each pixel, mm; hairs farther away than that are hidden.
    HairInk draw(const Eye& eye, const cv::Mat1f& distance) const;

private:
    struct Hair {
        std::vector<V3> points;
        float thickness;  // mm
        bool shiny;
    };
    std::vector<Hair> hairs_;
};

}  // namespace canalogue::demo
