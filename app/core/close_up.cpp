#include "app/core/close_up.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue {

namespace {

constexpr double kSlack = 1e-6;  // what shares written as decimals lose

std::string fault_of(const ShareBox& b) {
    const bool numbers = std::isfinite(b.x) && std::isfinite(b.y) && std::isfinite(b.w) && std::isfinite(b.h);
    if (!numbers || b.w <= 0 || b.h <= 0) return "a close-up window needs a 'width' and a 'height' above 0";
    if (b.x < -kSlack || b.y < -kSlack || b.right() > 1 + kSlack || b.bottom() > 1 + kSlack)
        return "a close-up window lies outside the picture, which goes from 0 to 1 both ways";
    if (std::max(b.w, b.h) < 1 / kMostEnlarged - kSlack) return "a close-up window is smaller than a sixth of the picture; make it larger";
    return "";
}

// Shares to four places: finer than a pixel of any recording, and legible in a plan.
double plain(double v) { return std::round(v * 1e4) / 1e4; }

ShareBox square_at(double middle_x, double middle_y, double side) {
    side = std::clamp(side, 1 / kMostEnlarged, 1.0);
    return {std::clamp(middle_x - side / 2, 0.0, 1 - side), std::clamp(middle_y - side / 2, 0.0, 1 - side), side, side};
}

ShareBox by_hand(const ShareBox& b) {
    const double side = std::max(plain(b.w), std::ceil(1e4 / kMostEnlarged) / 1e4);
    return {std::clamp(plain(b.x), 0.0, plain(1 - side)), std::clamp(plain(b.y), 0.0, plain(1 - side)), side, side};
}

}  // namespace

std::string fault_of(const CloseUp& c, const RecordingSpan& passage) {
    if (auto fault = fault_of(c.first); !fault.empty()) return fault;
    if (c.last)
        if (auto fault = fault_of(*c.last); !fault.empty()) return fault;
    if (!c.moving) return "";
    if (!c.last) return "a close-up that moves needs a second window, 'until'";
    if (c.moving->empty()) return "a close-up's 'moving' must end later than it begins";
    if (c.moving->start < passage.start || c.moving->end > passage.end) return "a close-up moves outside the passage";
    return "";
}

ShareBox fitted(const ShareBox& b) { return square_at(b.x + b.w / 2, b.y + b.h / 2, std::max(b.w, b.h)); }

ShareBox shown_at(const CloseUp& c, const RecordingSpan& passage, RecordingTime t) {
    const ShareBox a = fitted(c.first);
    if (!c.last) return a;
    const ShareBox b = fitted(*c.last);
    const RecordingSpan way = c.moving.value_or(passage);
    const double u = std::clamp(static_cast<double>(t - way.start) / static_cast<double>(std::max<Nanos>(1, way.length())), 0.0, 1.0);
    const double s = u * u * (3 - 2 * u);
    // Each edge goes straight from one place to the other: two windows that lie in the picture have only
    // such between them.
    const auto between = [s](double from, double to) { return from + (to - from) * s; };
    return {between(a.x, b.x), between(a.y, b.y), between(a.w, b.w), between(a.h, b.h)};
}

double enlarged(const ShareBox& window) { return 1 / std::max(window.w, 1e-9); }

double most_enlarged(const CloseUp& c) { return std::max(enlarged(fitted(c.first)), c.last ? enlarged(fitted(*c.last)) : 1.0); }

bool is_close_up(const ShareBox& window) { return window.w < 0.995; }

ShareBox moved(const ShareBox& b, double dx, double dy) { return by_hand(fitted({b.x + dx, b.y + dy, b.w, b.h})); }

ShareBox resized(const ShareBox& b, double factor) {
    const double side = std::max(b.w, b.h) * factor;
    return by_hand(square_at(b.x + b.w / 2, b.y + b.h / 2, side));
}

ShareBox stretched(double cx, double cy, double x, double y) {
    cx = std::clamp(cx, 0.0, 1.0), cy = std::clamp(cy, 0.0, 1.0);
    const bool right = x >= cx, down = y >= cy;
    // Never beyond the picture's edge, so that the corner that stays does stay.
    const double room = std::min(right ? 1 - cx : cx, down ? 1 - cy : cy);
    const double side = std::clamp(std::max(std::abs(x - cx), std::abs(y - cy)), 1 / kMostEnlarged, std::max(room, 1 / kMostEnlarged));
    return by_hand(fitted({right ? cx : cx - side, down ? cy : cy - side, side, side}));
}

CloseUp trimmed(const CloseUp& c, const RecordingSpan& passage) {
    CloseUp out = c;
    if (!c.moving) return out;
    out.moving = RecordingSpan{std::max(c.moving->start, passage.start), std::min(c.moving->end, passage.end)};
    if (!out.moving->empty()) return out;
    if (c.last && c.moving->end <= passage.start) out.first = *c.last;
    out.last.reset(), out.moving.reset();
    return out;
}

}  // namespace canalogue
