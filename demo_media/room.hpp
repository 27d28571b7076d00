// The consulting room, seen by the scope while it is out of the ear: a poster, a screen, a paper
// label and the patient's face, all drawn.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"
#include "demo_media/script.hpp"

namespace canalogue::demo {

struct RoomThing {
    std::string what;  // poster, screen, label, face
    UprightBox box;    // pixels of the finished frame, cut to the round picture's square
};

// Read-only once made; its functions may be called from several threads.
class Room {
public:
    Room(std::uint64_t seed, Ear ear, int side, cv::Size frame);
    // The working picture (values about 0..1, gamma applied) at a moment.
    cv::Mat3f picture(const Moment& moment) const;
    // What is visible then, at least a tenth of it.
    std::vector<RoomThing> things(const Moment& moment) const;

private:
    cv::Matx23d view(const Moment& moment) const;  // room canvas to working picture

    std::uint64_t seed_;
    Ear ear_;
    int side_;
    cv::Size frame_;
    cv::Mat3f canvas_;
    std::vector<RoomThing> placed_;  // boxes in canvas pixels
};

}  // namespace canalogue::demo
