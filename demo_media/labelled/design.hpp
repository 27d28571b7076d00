// What one labelled session is made of, by its seed.
#pragma once

#include "demo_media/labelled/scope_look.hpp"
#include "demo_media/labelled/writing.hpp"
#include "demo_media/script.hpp"

namespace canalogue::demo::labelled {

struct Away {
    Stretch span;
    std::size_t scene = 0;  // an index; taken modulo the scenes that there are
    bool round = false;     // seen through a round rim
    double ease = .3;       // seconds of the change at each end
    double share(double t) const;  // 0 inside .. 1 wholly outside
};

struct Design {
    std::uint64_t seed = 0;
    bool apart = false;          // of scenes, fonts and layouts that the others do not have
    double seconds = 20;
    cv::Size size;
    int rate = 25;               // frames a second; fields a second are twice as many when interlaced
    bool interlaced = false, irregular = false;
    std::string container;       // mkv, mp4, mov, avi
    Script script;
    ScopeLook look;
    std::vector<Away> away;
    std::vector<Writing> writings;
    bool sound = true;
    double suction = 1;          // how loud, against the demo's
    double read_at = -1;         // seconds at which a real reader is heard; below 0: not
};

Design design_of(std::uint64_t seed, double seconds, bool apart);

}  // namespace canalogue::demo::labelled
