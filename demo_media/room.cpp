#include "demo_media/room.hpp"

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"
#include "demo_media/lens.hpp"
#include "demo_media/noise_fields.hpp"
#include "demo_media/room_drawing.hpp"

namespace canalogue::demo {

Room::Room(std::uint64_t seed, Ear ear, int side, cv::Size frame)
    : seed_(seed), ear_(ear), side_(side), frame_(frame) {
    cv::Mat3b drawn;
    placed_ = draw_room(drawn, seed);
    drawn.convertTo(canvas_, CV_32F, 1 / 255.0);
    // The room is lit from a window at the left and falls off; nothing is evenly coloured.
    const cv::Mat1f mottle = cloud(canvas_.size(), {6, 5, 6, 0.5f}, seed + 9);
    for (int y = 0; y < canvas_.rows; ++y)
        for (int x = 0; x < canvas_.cols; ++x) {
            const float lamp =
                1.08f - 0.42f * flt(x) / flt(canvas_.cols) - 0.16f * flt(y) / flt(canvas_.rows);
            canvas_(y, x) *= lamp * (0.93f + 0.14f * mottle(y, x));
        }
}

cv::Matx23d Room::view(const Moment& m) const {
    // The hand carries the scope past the face to the ear; later visits look at the desk.
    const double t = m.t;
    const bool later = ear_ == Ear::right ? t > 8 : t > 8;
    const double sweep = later ? 0.5 + 0.5 * std::sin(1.1 * t) : std::min(1.0, t / 2.4);
    const double cx = (later ? 760 : 560 + 430 * sweep) + 16 * std::sin(2.3 * t) + 7 * std::sin(5.9 * t + 1);
    const double cy =
        (later ? 560 + 60 * sweep : 470 + 60 * sweep) + 13 * std::sin(1.9 * t + 2) + 6 * std::sin(6.7 * t);
    const double zoom =
        side_ / (later ? 980.0 : 1000.0 - 130 * sweep) * (1 + 2.0 * std::pow(1 - double(m.room), 2));
    const double turn = 0.05 * std::sin(1.3 * t) + 0.02 * std::sin(3.7 * t);
    const double c = std::cos(turn) * zoom, s = std::sin(turn) * zoom, half = side_ / 2.0;
    return {c, -s, half - c * cx + s * cy, s, c, half - s * cx - c * cy};
}

cv::Mat3f Room::picture(const Moment& m) const {
    cv::Mat3f out;
    cv::warpAffine(canvas_, out, view(m), {side_, side_}, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    // A scope is focused on millimetres: a room is never quite sharp, and melts when the hand moves fast.
    const double blur = side_ / 456.0 * (0.7 + 6.0 * (1 - double(m.room)));
    cv::GaussianBlur(out, out, {}, blur);
    return out;
}

std::vector<RoomThing> Room::things(const Moment& m) const {
    std::vector<RoomThing> out;
    if (m.room <= 0.02f) return out;
    const cv::Matx23d v = view(m);
    const double scale = frame_.height * kRoundPart / side_;
    const double left = (frame_.width - scale * side_) / 2, top = (frame_.height - scale * side_) / 2;
    for (const RoomThing& thing : placed_) {
        double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
        for (int corner = 0; corner < 4; ++corner) {
            const double x = corner & 1 ? thing.box.right() : thing.box.x,
                         y = corner & 2 ? thing.box.bottom() : thing.box.y;
            const double fx = left + scale * (v(0, 0) * x + v(0, 1) * y + v(0, 2));
            const double fy = top + scale * (v(1, 0) * x + v(1, 1) * y + v(1, 2));
            x0 = std::min(x0, fx), x1 = std::max(x1, fx), y0 = std::min(y0, fy), y1 = std::max(y1, fy);
        }
        const UprightBox whole{int(std::floor(x0)), int(std::floor(y0)), int(std::ceil(x1 - x0)),
                               int(std::ceil(y1 - y0))};
        const UprightBox seen =
            common(whole, UprightBox{int(left), int(top), int(scale * side_), int(scale * side_)});
        if (seen.area() * 10 >= whole.area()) out.push_back({thing.what, seen});
    }
    return out;
}

}  // namespace canalogue::demo
