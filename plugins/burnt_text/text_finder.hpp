// Finds lines of text in one picture. The detector is a DB net (Liao et al., "Real-time Scene Text
// Detection with Differentiable Binarization", 2020). On pictures without any text it invents some,
// presumably because parts of it normalise over the whole picture; so a line of sample text is glued
// under each picture. It steadies the net, and a net that misses it is known to be failing.
#pragma once

#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "plugins/shared/net.hpp"

namespace canalogue::burnt_text {

struct FoundText {
    cv::Rect2f box;   // in pixels of the picture the finder was made for
    float score = 0;  // .5 .. 1
};

class TextFinder {
  public:
    explicit TextFinder(const std::string& models_dir) : net_(models_dir, kFile) {}

    // The size that pictures are brought to before they are looked at; about as many pixels as 1280
    // by 720 whatever the shape, sides kept in proportion, the width a multiple of 32.
    static cv::Size working_size(cv::Size picture);

    // picture: RGB, 8 bits, of a working size. Boxes are in its pixels. Throws std::runtime_error
    // with a sentence when the sample line was not found: then nothing else can be believed.
    std::vector<FoundText> find(const cv::Mat& picture);
    // The same in a picture with half the pixels, which takes half the time; boxes are in those of the whole. What is
    // smaller than 14 lines of 720 is often missed.
    std::vector<FoundText> find_quickly(const cv::Mat& picture);

    static constexpr const char* kFile = "text/ch_PP-OCRv4_det_infer.onnx";

  private:
    const cv::Mat& sheet_with(const cv::Mat& picture);
    cv::Mat map_of(const cv::Mat& sheet);

    nets::Net net_;
    cv::Mat sheet_;  // the picture with the strip under it
};

}  // namespace canalogue::burnt_text
