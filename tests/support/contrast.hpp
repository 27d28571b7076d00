// WCAG 2.2: relative luminance and contrast.
#pragma once

#include <algorithm>
#include <cmath>

#include "export/palette.hpp"

namespace canalogue::test {

inline double luminance(const film::Rgb& c) {
    const auto linear = [](int v) {
        const double s = v / 255.0;
        return s <= 0.04045 ? s / 12.92 : std::pow((s + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * linear(c.r) + 0.7152 * linear(c.g) + 0.0722 * linear(c.b);
}

inline double contrast(const film::Rgb& a, const film::Rgb& b) {
    const double x = luminance(a), y = luminance(b);
    return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

}  // namespace canalogue::test
