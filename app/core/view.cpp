#include "app/core/view.hpp"

#include <cmath>
#include <numbers>

namespace canalogue {

std::pair<double, double> in_view(const ViewChange& view, const ShareBox& window, double aspect, double x, double y) {
    double u = (x - window.x) / window.w - 0.5, v = (y - window.y) / window.h - 0.5;
    if (view.mirrored) u = -u;
    const double angle = view.turn * std::numbers::pi / 180, c = std::cos(angle), s = std::sin(angle);
    const double px = u * aspect, py = v;
    return {(c * px - s * py) / aspect + 0.5, s * px + c * py + 0.5};
}

std::string words_of(const ViewChange& view) {
    std::string out;
    const auto add = [&](const std::string& words) { out += (out.empty() ? "" : ", ") + words; };
    if (view.mirrored) add("mirrored");
    if (view.turn != 0) add("turned " + std::to_string(static_cast<int>(std::lround(std::abs(view.turn)))) + "\u00b0 " + (view.turn > 0 ? "clockwise" : "anticlockwise"));
    if (view.brightness > 0) add("brightened");
    if (view.brightness < 0) add("darkened");
    if (view.white) add("white balanced");
    if (view.steady) add("steadied");
    return out;
}

}  // namespace canalogue
