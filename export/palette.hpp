// The program's own colours. Contrast of every pair that carries text is tested (WCAG 2.2, 1.4.3).
#pragma once

#include <string>

namespace canalogue::film {

struct Rgb {
    int r = 0, g = 0, b = 0;
};

inline constexpr Rgb kInk{0x14, 0x26, 0x2C};    // ground
inline constexpr Rgb kSlate{0x1E, 0x36, 0x40};  // panels
inline constexpr Rgb kMist{0xD9, 0xE4, 0xE2};   // text
inline constexpr Rgb kDim{0x9F, 0xB4, 0xB6};    // quieter text, still 4.5:1 on ink
inline constexpr Rgb kAmber{0xE8, 0xB0, 0x4A};  // the one accent

// "#56b4e9"; mist when it is not a colour.
Rgb rgb_from(const std::string& hex);

}  // namespace canalogue::film
