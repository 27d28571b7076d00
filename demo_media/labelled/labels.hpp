// What a pixel of labels.mkv says.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <vector>

namespace canalogue::demo::labelled {

inline constexpr std::uint8_t kNothing = 0;
inline constexpr std::uint8_t kBurntIn = 1;  // glyph, outline or shadow of burnt-in text
inline constexpr std::uint8_t kPerson = 2;   // face, ear or another part of a person, seen from outside
inline constexpr std::uint8_t kRoomText = 3; // text on a thing outside

// Where something is in one frame, upright pixels; empty when it is not seen.
struct Place {
    int thing = 0;  // its number in its list
    cv::Rect box;
};

}  // namespace canalogue::demo::labelled
