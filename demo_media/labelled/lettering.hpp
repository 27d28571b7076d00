// Written words as a coverage mask, by PangoCairo with the machine's fonts.
#pragma once

#include <opencv2/core.hpp>
#include <string>

namespace canalogue::demo::labelled {

struct Letters {
    std::string font;
    bool bold = false;
    int height = 20;  // of the font, pixels
    bool slanted = false;
};

// 0..255 for each pixel, cut to the ink's own bounds; several lines by \n. Empty for words without ink.
// May be called from several threads.
cv::Mat1b lettered(const std::string& words, const Letters& letters);

}  // namespace canalogue::demo::labelled
