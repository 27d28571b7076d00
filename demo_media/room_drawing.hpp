// Draws the consulting room flat, once; room.hpp moves and lights it.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <vector>

#include "demo_media/room.hpp"

namespace canalogue::demo {

// Fills `canvas` (1600x1200) and returns what stands where on it, in canvas pixels.
std::vector<RoomThing> draw_room(cv::Mat3b& canvas, std::uint64_t seed);
// A plain face, front view, inside `where`; soft shading, no likeness to anyone.
void draw_face(cv::Mat3b& canvas, cv::Rect where);

}  // namespace canalogue::demo
