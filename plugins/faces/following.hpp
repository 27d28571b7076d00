// Turns what was seen in single pictures into things followed through time.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <vector>

#include "plugins/faces/finders.hpp"

namespace canalogue::faces {

struct Sight {
    std::int64_t t_ns = 0;
    cv::Rect2f box;
};

struct Followed {
    std::vector<Sight> sights;  // in order of time
    float score = 0;            // the highest
    bool person = false;
};

// Links sights of one thing. It may be away for up to kPatience: turned, or behind something.
class Follower {
  public:
    static constexpr std::int64_t kPatience = 1'600'000'000;
    void see(std::int64_t t_ns, const std::vector<Seen>& seen);
    std::vector<Followed> take();  // all so far; and forgets them

  private:
    std::vector<Followed> all_;
};

// In a view of an ear's inside: those that two nets see, or the one that never saw any there.
std::vector<Seen> agreed(std::vector<Seen> seen);

}  // namespace canalogue::faces
