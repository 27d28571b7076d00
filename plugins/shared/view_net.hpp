// What a net that has seen many things sees in a picture: the backbone of the CenterNet object detector, whose three
// maps are pooled. Texture tells inside from outside where colours and a dark rim do not.
#pragma once

#include <array>
#include <opencv2/core.hpp>

#include "plugins/shared/net.hpp"

namespace canalogue::view {

inline constexpr int kFine = 32, kMiddle = 88, kCoarse = 120;               // maps of the net's three levels
inline constexpr std::size_t kSeen = 2 * (kFine + kMiddle + kCoarse);  // of each the mean and the spread

using Seen = std::array<float, kSeen>;

class ViewNet {
  public:
    // Throws std::runtime_error with a sentence.
    explicit ViewNet(const std::string& models_dir) : net_(models_dir, kFile) {}
    // rgb: 8 bits, any size; its shape is not kept. Throws std::runtime_error.
    Seen look(const cv::Mat& rgb);

    static constexpr const char* kFile = "view/view.onnx";

  private:
    nets::Net net_;
};

}  // namespace canalogue::view
