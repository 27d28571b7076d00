// What a scope sees out of the ear: photographs that packages of the system carry (used where they lie, never
// copied), or drawn things where there is none.
#pragma once

#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"

namespace canalogue::demo::labelled {

struct Scene {
    std::string what;       // "photograph", "skin", "paper"
    cv::Mat3b picture;      // larger than what is shown of it
    std::vector<cv::Rect> faces;                          // in its pixels
    std::vector<std::pair<cv::Rect, std::string>> texts;  // boxes of writing, and the words
    bool photograph = false;
};

// All scenes that can be had here; `apart` gives others than usual, without `photographs` only drawn ones.
// Never empty.
std::vector<Scene> scenes(bool apart, bool photographs, std::uint64_t seed);

// The scene moved, zoomed and slightly turned as time goes, filling a frame; `into`: the map from the scene's pixels
// to the frame's, for the boxes.
cv::Mat3b shown(const Scene& scene, cv::Size frame, double t, std::uint64_t seed, cv::Matx23d& into);

// The box around a scene's box in the frame, cut to it.
UprightBox box_in_frame(const cv::Rect& box, const cv::Matx23d& into, cv::Size frame);

}  // namespace canalogue::demo::labelled
