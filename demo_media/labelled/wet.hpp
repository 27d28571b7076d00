// Water, bubbles and blood before the lens, on the working picture.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <vector>

#include "demo_media/labelled/recipe.hpp"

namespace canalogue::demo::labelled {

// Read-only once made; lay may be called from several threads.
class Wet {
public:
    Wet(const Scope& scope, std::uint64_t seed, int side);
    void lay(cv::Mat3b& picture, double t) const;

private:
    struct Drop {
        cv::Point2f at, drift;  // pixels, pixels per second
        float radius, phase;
    };
    void bend(cv::Mat3b& picture, double t) const;
    void foam(cv::Mat3b& picture, double t) const;
    void redden(cv::Mat3b& picture, double t) const;

    Scope scope_;
    int side_;
    std::vector<Drop> drops_, bubbles_;
    cv::Mat1b blood_;  // larger than the picture, moved under it
};

}  // namespace canalogue::demo::labelled
