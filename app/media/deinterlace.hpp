// Turns interlaced pictures into progressive ones, after covering. Each output frame keeps the time
// of its input frame. Looks at the neighbours before and after, so it runs one picture behind.
// One per thread and per uninterrupted run of pictures.
#pragma once

#include <memory>
#include <vector>

#include "app/core/result.hpp"
#include "app/media/picture.hpp"

namespace canalogue::media {

class Deinterlacer {
  public:
    Deinterlacer();
    ~Deinterlacer();
    Deinterlacer(Deinterlacer&&) noexcept;
    Deinterlacer& operator=(Deinterlacer&&) noexcept;

    // Takes one picture, gives those that are ready (none, one, or more after a change of format).
    Result<std::vector<Picture>> push(const Picture& picture);
    // The pictures still inside; afterwards it may be used again.
    Result<std::vector<Picture>> drain();

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace canalogue::media
