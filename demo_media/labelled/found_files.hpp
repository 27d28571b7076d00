// Photographs and recorded speech that Debian packages carry. They are used when this machine has them and
// never become part of the project; a drawn scene or a synthetic voice stands in where they are missing.
#pragma once

#include <filesystem>
#include <opencv2/core.hpp>
#include <optional>
#include <string>
#include <vector>

namespace canalogue::demo::labelled {

// Somebody or something in a photograph, in shares of its width and height.
struct Region {
    std::string what;  // face, person, text
    std::string words;
    bool oval = false;                    // corners: middle, then half width and height
    std::vector<cv::Point2d> corners;     // otherwise a polygon
};
struct Photograph {
    std::filesystem::path file;
    std::vector<Region> regions;  // later ones lie above earlier ones
    int frame = -1;               // of a film; -1: the file is a still
};
inline constexpr std::size_t kPhotographs = 4;
const std::vector<Photograph>& photographs();
// Empty when the file is not there.
cv::Mat3b read_photograph(const Photograph& photograph);

inline constexpr int kClips = 5;  // of recorded speech, read from a book; they name nobody present
std::string clip_words(int clip);
struct Clip {
    std::vector<float> samples;
    int rate = 0;
};
std::optional<Clip> read_clip(int clip);

}  // namespace canalogue::demo::labelled
