// Places in a picture. Two spaces that must not be mixed are two types:
//   UprightBox  pixels of the picture as a person sees it (after rotation, before any scaling)
//   StoredBox   pixels of the picture as the decoder gives it: where covers are laid
// Origin top left, x to the right, y down; a box holds [x, x+w) by [y, y+h).
#pragma once

#include <algorithm>
#include <compare>

namespace canalogue {

struct Size {
    int w = 0, h = 0;
    auto operator<=>(const Size&) const = default;
};

// Clockwise turn that brings the stored picture upright.
enum class Rotation { none = 0, quarter = 90, half = 180, three_quarters = 270 };

template <class Space>
struct Box {
    int x = 0, y = 0, w = 0, h = 0;
    auto operator<=>(const Box&) const = default;
    int right() const { return x + w; }
    int bottom() const { return y + h; }
    bool empty() const { return w <= 0 || h <= 0; }
    long area() const { return empty() ? 0 : static_cast<long>(w) * h; }
    bool holds(const Box& o) const {
        return x <= o.x && y <= o.y && right() >= o.right() && bottom() >= o.bottom();
    }
    bool meets(const Box& o) const {
        return x < o.right() && o.x < right() && y < o.bottom() && o.y < bottom();
    }
};

using UprightBox = Box<struct UprightSpace>;
using StoredBox = Box<struct StoredSpace>;

template <class Space>
Box<Space> hull(const Box<Space>& a, const Box<Space>& b) {
    if (a.empty()) return b;
    if (b.empty()) return a;
    const int x = std::min(a.x, b.x), y = std::min(a.y, b.y);
    return {x, y, std::max(a.right(), b.right()) - x, std::max(a.bottom(), b.bottom()) - y};
}

template <class Space>
Box<Space> common(const Box<Space>& a, const Box<Space>& b) {
    const int x = std::max(a.x, b.x), y = std::max(a.y, b.y);
    return {x, y, std::max(0, std::min(a.right(), b.right()) - x),
            std::max(0, std::min(a.bottom(), b.bottom()) - y)};
}

inline Size upright_size(Size stored, Rotation r) {
    return r == Rotation::quarter || r == Rotation::three_quarters ? Size{stored.h, stored.w} : stored;
}

// The stored pixels under an upright box. `stored` is the size of the stored picture.
inline StoredBox stored_from_upright(const UprightBox& b, Size stored, Rotation r) {
    switch (r) {
        case Rotation::none: return {b.x, b.y, b.w, b.h};
        case Rotation::quarter: return {b.y, stored.h - b.right(), b.h, b.w};
        case Rotation::half: return {stored.w - b.right(), stored.h - b.bottom(), b.w, b.h};
        case Rotation::three_quarters: return {stored.w - b.bottom(), b.x, b.h, b.w};
    }
    return {};
}

}  // namespace canalogue
