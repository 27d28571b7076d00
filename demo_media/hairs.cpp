#include "demo_media/hairs.hpp"

#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"

namespace canalogue::demo {

Hairs::Hairs(const CanalShape& shape, std::uint64_t seed) {
    Chance chance(seed ^ 0x4A125);
    constexpr int kHairs = 125, kPoints = 9;
    for (int i = 0; i < kHairs; ++i) {
        const float z = chance.between(-6.5f, 5.5f), turn = chance.between(0, 6.2832f);
        const V3 axis = shape.axis(z);
        V3 out{std::cos(turn) * kWide, std::sin(turn) * kTall, 0};
        V3 root = axis;
        for (float r = 0; r < 14 && shape.clearance(root) > 0; r += 0.05f) root = axis + out * r;
        const V3 in = -unit(out), round{-out.y, out.x, 0};
        // Most lean outwards along the wall, as hairs of the canal do.
        V3 way = unit(in * chance.between(0.35f, 1) + round * chance.between(-0.8f, 0.8f) +
                      V3{0, 0, chance.between(-1.1f, 0.35f)});
        const V3 bend{chance.spread() * 0.10f, chance.spread() * 0.10f, chance.spread() * 0.08f};
        const float step = chance.between(0.22f, 0.62f);
        Hair hair{{root}, chance.between(0.018f, 0.045f), chance.unit() < 0.4f};
        for (int k = 1; k < kPoints; ++k) {
            hair.points.push_back(hair.points.back() + way * step);
            way = unit(way + bend);
        }
        hairs_.push_back(std::move(hair));
    }
}

HairInk Hairs::draw(const Eye& eye, const cv::Mat1f& distance) const {
    const int side = distance.rows;
    const float half = flt(side) / 2;
    const auto blank = [side] { return cv::Mat1b(side, side, uchar(0)); };
    HairInk ink{blank(), blank(), blank()};
    const auto project = [&](V3 world, float& far) {
        const V3 p = eye.to_eye(world - eye.at);
        far = length(p);
        const float flat = std::hypot(p.x, p.y), angle = std::atan2(flat, p.z);
        const float out = angle / kHalfView * half / std::max(flat, 1e-4f);
        return cv::Point2f(half + p.x * out, half + p.y * out);
    };
    for (const Hair& hair : hairs_) {
        float far0 = 0, far1 = 0;
        cv::Point2f a = project(hair.points[0], far0);
        for (std::size_t k = 1; k < hair.points.size(); ++k, far0 = far1) {
            const cv::Point2f b = project(hair.points[k], far1), from = a;
            a = b;
            const float far = (far0 + far1) / 2;
            const cv::Point mid((from + b) * 0.5f);
            if (far < 0.7f || !cv::Rect(0, 0, side, side).contains(mid)) continue;
            if (cv::norm(b - from) > side / 2.5 || distance(mid) + 0.35f < far) continue;
            const float tip = 1 - 0.6f * flt(k) / flt(hair.points.size());
            const float width = hair.thickness * tip / far * half / kHalfView;  // pixels
            const int thick = std::max(1, int(std::ceil(width)));
            const double strength = 255 * std::clamp(width / flt(thick), 0.25f, 1.0f);
            cv::Mat1b& layer = far < 2.6f ? ink.near : (hair.shiny ? ink.bright : ink.dark);
            cv::line(layer, cv::Point(from * 16), cv::Point(b * 16), cv::Scalar(strength), thick, cv::LINE_AA,
                     4);
        }
    }
    return ink;
}

}  // namespace canalogue::demo
