// The outside as a hand carries the scope through it: pulled out of the ear, about the room, back in.
#pragma once

#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "demo_media/labelled/recipe.hpp"
#include "demo_media/labelled/scene.hpp"

namespace canalogue::demo::labelled {

// Read-only once made; its functions may be called from several threads. recipe must outlive it.
class OutsideView {
public:
    explicit OutsideView(const Recipe& recipe);

    // The outing that shows at t, or -1; part: 0..1, how much of the picture is outside then.
    int outing_at(double t, double& part) const;
    cv::Mat3b picture(int outing, double t) const;  // of the frame's size
    cv::Mat1b ids(int outing, double t) const;      // likewise, as SceneCanvas::ids
    const SceneCanvas& canvas(int outing) const { return canvases_[std::size_t(outing)]; }
    const std::vector<std::string>& files() const { return files_; }  // photographs used

private:
    cv::Matx23d view(int outing, double t, double scale) const;  // canvas to frame
    double nearness(int outing, double t) const;                 // 1 at the ear, 0 pulled out

    const Recipe& recipe_;
    std::vector<SceneCanvas> canvases_;
    std::vector<std::string> files_;
};

}  // namespace canalogue::demo::labelled
