// What lies outside the ear, as one large picture with a number for each thing in it.
#pragma once

#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "demo_media/labelled/recipe.hpp"

namespace canalogue::demo::labelled {

struct Thing {
    std::string what;  // face, person, ear, text
    std::string words;
    bool photograph = false;
};

struct SceneCanvas {
    cv::Mat3b picture;
    cv::Mat1b ids;  // like picture: 0 nothing, else a thing's number + 1
    std::vector<Thing> things;
    cv::Point2d begin, end;  // where the look goes from and to, shares of the canvas
    double wide = 0.8;       // how much of the canvas' height the frame's height shows
};

// The same scene and seed give the same picture, ids and things, save that `photograph` and the pixels say
// whether the photograph was there. Adds the names of photographs used to `files`.
SceneCanvas scene_canvas(Scene scene, std::uint64_t seed, std::vector<std::string>& files);

}  // namespace canalogue::demo::labelled
