// The inside of the ear, quickly: a few pictures a second are painted as the demo paints them; each frame is
// moved, zoomed, turned and cross-faded between them.
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "demo_media/labelled/recipe.hpp"
#include "demo_media/labelled/wet.hpp"

namespace canalogue::demo::labelled {

// Read-only once made; picture may be called from several threads.
class InsideView {
public:
    // Paints with two threads.
    explicit InsideView(const Recipe& recipe);
    // Square, the round view touching its edges, before the scope's outline.
    cv::Mat3b picture(double t) const;
    int side() const { return side_; }

private:
    int side_;
    double sharp_;
    std::vector<cv::Mat3b> keys_;
    Wet wet_;
};

}  // namespace canalogue::demo::labelled
