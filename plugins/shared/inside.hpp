// Whether the scope is in an ear: a small net over what one picture measures (view_features.hpp) and over what a net that
// has seen many things sees in it (view_net.hpp). Its weights are made by recipe/train.py.
#pragma once

#include <string>
#include <vector>

#include "plugins/shared/view_features.hpp"
#include "plugins/shared/view_net.hpp"

namespace canalogue::view {

class Inside {
  public:
    // Throws std::runtime_error with a sentence when the models cannot be used; why_no_nets(files()) tells before.
    explicit Inside(const std::string& models_dir) : net_(models_dir) {}

    // rgb: 8 bits. 0 outside .. 1 inside; below a half: outside, or unsure, which counts as outside.
    // Throws std::runtime_error.
    double of(const cv::Mat& rgb);

    static std::vector<std::string> files() { return {ViewNet::kFile}; }

  private:
    ViewNet net_;
};

}  // namespace canalogue::view
