// Reads one line of text. What it returns is identifying: it leaves the plugin only as `words`.
#pragma once

#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "plugins/shared/net.hpp"

namespace canalogue::burnt_text {

class TextReader {
  public:
    // Throws std::runtime_error with a sentence when a file cannot be used.
    explicit TextReader(const std::string& models_dir);

    // line: RGB, 8 bits, one line cropped closely; an upright one is turned. Empty when nothing can be read.
    std::string read(const cv::Mat& line);

    static constexpr const char* kFile = "text/ch_PP-OCRv4_rec_infer.onnx";
    static constexpr const char* kLetters = "text/ppocr_keys_v1.txt";

  private:
    nets::Net net_;
    std::vector<std::string> letters_;  // by the net's class; the first is "nothing", the last a space
};

}  // namespace canalogue::burnt_text
