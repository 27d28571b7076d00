// Finds pictures in which something stands for a few frames only, too short for samples a quarter of a second apart.
// Internal to export/.
#pragma once

#include <deque>
#include <optional>
#include <vector>

#include "app/media/picture.hpp"

namespace canalogue::film {

class Flashes {
  public:
    static constexpr std::size_t kLongest = 6;  // frames that a flash may last

    // Frames in order. The first picture of a flash that this frame ends: some cells beside one another changed with
    // it and are now as they were before. Frames that are not 8 bits a sample are passed over.
    std::optional<media::Picture> see(const media::Picture& picture);

  private:
    struct Seen {
        media::Picture picture;
        std::vector<std::uint8_t> cells;  // mean luma of squares, row by row
        bool told = false;
    };
    bool flashed(std::size_t first, const std::vector<std::uint8_t>& now) const;

    int columns_ = 0;
    std::deque<Seen> last_;  // the newest at the end
};

}  // namespace canalogue::film
