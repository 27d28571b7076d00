// Takes a window out of a picture and brings it to a size, at any place: windows need not lie on whole
// pixels, so that one that moves slowly moves evenly, and colour moves with light although it has only
// every second pixel.
#pragma once

#include <cstdint>
#include <vector>

#include "app/core/close_up.hpp"
#include "app/media/picture.hpp"

namespace canalogue::media {

class WindowSampler {
  public:
    // `source`: 8-bit 4:2:0, as FilmConverter gives it, upright. `window` must lie in it. The result has the
    // same form and exactly `target`, even. Cubic (Catmull-Rom), widened where things get smaller. Keeps its
    // room between calls; one per thread.
    Result<FramePtr> sample(const AVFrame& source, const ShareBox& window, Size target);

  private:
    // For each sample of a row (or column) that is made: the first source sample, and a weight for it and
    // for each that follows it; they add up to 1 << 14.
    struct Taps {
        int each = 0;  // weights for one sample
        std::vector<int> first;
        std::vector<std::int16_t> weights;
    };
    static Taps taps(int source, int made, double start, double extent);
    void sample_plane(const std::uint8_t* from, int from_stride, const Taps& across, const Taps& down, std::uint8_t* to, int to_stride);

    std::vector<std::int16_t> rows_;  // scaled across, not yet down
    std::vector<std::int32_t> sums_;
};

}  // namespace canalogue::media
