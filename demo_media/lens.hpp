// What the scope does to the light: focus, exposure, a smear on its glass, the soft dark rim of its
// round picture, sharpening and the sensor's noise.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>

#include "demo_media/canal_view.hpp"
#include "demo_media/hairs.hpp"

namespace canalogue::demo {

// The round picture's diameter as a part of the frame's height.
inline constexpr double kRoundPart = 0.95;

// Read-only once made; its functions may be called from several threads.
class Lens {
public:
    // side: of the square working picture, pixels; frame: of the finished frame.
    Lens(std::uint64_t seed, int side, cv::Size frame);

    // Light into a focused, exposed working picture; values about 0..1, gamma applied.
    cv::Mat3f expose(const Seen& seen, const HairInk& hairs) const;
    // The smear veils by 0..1 the part of the glass it lies on; tissue covers all by 0..1.
    void smear(cv::Mat3f& picture, float veil, float tissue) const;
    // Puts the working picture into a frame: rim, surroundings, noise. number: of the frame.
    cv::Mat3b finish(const cv::Mat3f& picture, int number) const;

private:
    std::uint64_t seed_;
    cv::Size frame_;
    int round_;           // pixels across the round picture in the frame
    cv::Mat1f rim_;       // working size: 1 inside, falling to 0
    cv::Mat1f falloff_;   // working size: less light towards the edge
    cv::Mat1f grease_;    // working size: where the smear lies
    cv::Mat1f streaks_;   // working size
    cv::Mat3f surround_;  // frame size: the dark outside the round picture
    cv::Mat3f noise_;     // a sheet larger than the frame
    cv::Vec3f cast_;      // per session, blue-green-red factors
};

}  // namespace canalogue::demo
