#include "demo_media/labelled/wet.hpp"

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"
#include "demo_media/noise_fields.hpp"
#include "demo_media/vector3.hpp"

namespace canalogue::demo::labelled {

Wet::Wet(const Scope& scope, std::uint64_t seed, int side) : scope_(scope), side_(side) {
    Chance chance(seed ^ 0x3E7);
    const float s = flt(side);
    const auto some = [&](int count, float least, float most, float pace) {
        std::vector<Drop> out;
        for (int i = 0; i < count; ++i) {
            Drop d;
            d.at = {chance.between(0.12f, 0.88f) * s, chance.between(0.12f, 0.88f) * s};
            d.drift = {chance.between(-0.3f, 0.3f) * pace * s, chance.between(-1, 0.4f) * pace * s};
            d.radius = chance.between(least, most) * s, d.phase = chance.between(0, 6.28f);
            out.push_back(d);
        }
        return out;
    };
    if (scope.droplets) drops_ = some(14, 0.02f, 0.085f, 0.004f);
    if (scope.bubbles) bubbles_ = some(26, 0.008f, 0.05f, 0.05f);
    if (scope.blood) {
        const cv::Mat1f pools = cloud({side * 2, side * 2}, {6, 6, 5, 0.55f}, seed + 31);
        blood_.create(pools.size());
        for (int y = 0; y < pools.rows; ++y)
            for (int x = 0; x < pools.cols; ++x)
                blood_(y, x) = cv::saturate_cast<uchar>(40 + 200 * smooth(0.46f, 0.62f, pools(y, x)));
    }
}

// A drop on the glass shows the view upside down and small; waves sway it.
void Wet::bend(cv::Mat3b& picture, double t) const {
    cv::Mat2f from(side_, side_);
    const float time = flt(t), s = flt(side_);
    for (int y = 0; y < side_; ++y)
        for (int x = 0; x < side_; ++x) {
            const float fx = flt(x), fy = flt(y);
            cv::Vec2f p{fx, fy};
            if (scope_.waves) {
                p[0] += s * 0.011f * std::sin(fy * 22 / s + time * 4.1f) +
                        s * 0.006f * std::sin(fx * 31 / s + fy * 17 / s - time * 6.3f);
                p[1] += s * 0.010f * std::sin(fx * 19 / s - time * 3.3f + 1) +
                        s * 0.006f * std::sin(fx * 13 / s - fy * 27 / s + time * 5.1f);
            }
            from(y, x) = p;
        }
    for (const Drop& d : drops_) {
        const cv::Point2f c = d.at + d.drift * time;
        const int r = int(d.radius) + 1;
        for (int y = std::max(0, int(c.y) - r); y <= std::min(side_ - 1, int(c.y) + r); ++y)
            for (int x = std::max(0, int(c.x) - r); x <= std::min(side_ - 1, int(c.x) + r); ++x) {
                const float dx = flt(x) - c.x, dy = flt(y) - c.y, far = std::hypot(dx, dy) / d.radius;
                if (far < 1) from(y, x) = {c.x - dx * (1 + 2.2f * far * far), c.y - dy * (1 + 2.2f * far * far)};
            }
    }
    cv::Mat3b bent;
    cv::remap(picture, bent, from, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_REFLECT);
    picture = bent;
    for (const Drop& d : drops_) {  // a dark edge below, a gleam above
        const cv::Point c(d.at + d.drift * time);
        const int r = int(d.radius);
        cv::Mat3b over = picture.clone();
        cv::ellipse(over, c, {r, r}, 0, 10, 170, {20, 26, 40}, std::max(1, r / 5), cv::LINE_AA);
        cv::ellipse(over, {c.x - r / 3, c.y - r / 2}, {std::max(1, r / 4), std::max(1, r / 7)}, -30, 0, 360,
                    {250, 250, 250}, cv::FILLED, cv::LINE_AA);
        cv::addWeighted(picture, 0.45, over, 0.55, 0, picture);
    }
}

void Wet::foam(cv::Mat3b& picture, double t) const {
    cv::Mat3b over = picture.clone();
    for (const Drop& b : bubbles_) {
        const float span = flt(side_) * 1.2f, y = std::fmod(b.at.y + b.drift.y * flt(t) + 4 * span, span);
        const cv::Point c(int(b.at.x + b.drift.x * flt(t) + 3 * std::sin(flt(t) * 2 + b.phase)), int(y));
        const int r = std::max(2, int(b.radius * (1 + 0.12f * std::sin(flt(t) * 1.7f + b.phase))));
        cv::circle(over, c, r, {190, 206, 220}, std::max(1, r / 7), cv::LINE_AA);
        cv::ellipse(over, c, {r - 1, r - 1}, 0, 200, 290, {246, 248, 250}, std::max(1, r / 5), cv::LINE_AA);
        cv::circle(over, {c.x + r / 3, c.y + r / 3}, std::max(1, r / 6), {236, 240, 244}, cv::FILLED, cv::LINE_AA);
        cv::circle(over, c, std::max(1, r * 2 / 3), {70, 84, 120}, 1, cv::LINE_AA);
    }
    cv::addWeighted(picture, 0.35, over, 0.65, 0, picture);
}

void Wet::redden(cv::Mat3b& picture, double t) const {
    const int reach = side_ / 2;
    const int ox = reach / 2 + int(reach * 0.4 * std::sin(0.21 * t)), oy = reach / 2 + int(reach * 0.4 * std::cos(0.17 * t));
    for (int y = 0; y < side_; ++y)
        for (int x = 0; x < side_; ++x) {
            const int a = blood_(y + oy, x + ox);
            cv::Vec3b& p = picture(y, x);
            p[0] = std::uint8_t(p[0] * (300 - a) / 300 * 9 / 10), p[1] = std::uint8_t(p[1] * (290 - a) / 290 * 9 / 10);
            p[2] = std::uint8_t(p[2] * (560 - a) / 560);
        }
}

void Wet::lay(cv::Mat3b& picture, double t) const {
    if (scope_.blood) redden(picture, t);
    if (scope_.waves || scope_.droplets) bend(picture, t);
    if (scope_.bubbles) foam(picture, t);
}

}  // namespace canalogue::demo::labelled
