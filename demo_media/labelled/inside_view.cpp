#include "demo_media/labelled/inside_view.hpp"

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "demo_media/canal_view.hpp"
#include "demo_media/frame_line.hpp"
#include "demo_media/hairs.hpp"
#include "demo_media/lens.hpp"
#include "demo_media/script.hpp"

namespace canalogue::demo::labelled {

namespace {

constexpr double kKeyStep = 0.35;                        // seconds between painted pictures
constexpr double kRightSeconds = 54, kLeftSeconds = 40;  // the stories, slowed down
constexpr float kLeastDepth = 1.2f;                      // mm: the canal's walls fill the view

int side_for(const Recipe& r) {
    const int lines = std::min(r.form.size.height, r.form.size.width);
    const bool whole = r.scope.outline == Outline::rectangle || r.scope.outline == Outline::octagon;
    return std::clamp(int(lines * (whole ? 0.62 : 0.52)) & ~1, 96, whole ? 500 : 420);
}

}  // namespace

InsideView::InsideView(const Recipe& r) : side_(side_for(r)), sharp_(r.scope.sharp), wet_(r.scope, r.seed, side_) {
    const bool left = r.scope.left_story;
    const Script script = left ? left_ear(kLeftSeconds) : right_ear(kRightSeconds);
    const double room = (left ? kLeftSeconds - 4 : kRightSeconds) - r.seconds - 8;
    const double begin = 8 + (room > 0 ? std::fmod(r.scope.story_at * 7, room) : 0);
    const CanalView canal(script, r.seed, side_);
    const Hairs hairs(canal.shape(), r.seed);
    const Lens lens(r.seed, side_, {side_, side_});
    const auto paint = [&](int number) {
        Moment m = moment_at(script, begin + number * kKeyStep);
        m.room = 0, m.tissue = 0, m.depth = std::max(m.depth, kLeastDepth);
        const Seen seen = canal.draw(m);
        cv::Mat3f picture = lens.expose(seen, hairs.draw(canal.eye(m), seen.distance));
        lens.smear(picture, m.veil, 0);
        cv::Mat3b out;
        picture.convertTo(out, CV_8U, 255);
        return out;
    };
    make_in_order(int(r.seconds / kKeyStep) + 2, 2, 4, paint, [&](cv::Mat3b&& key) {
        keys_.push_back(key);
        return true;
    });
}

cv::Mat3b InsideView::picture(double t) const {
    const auto key = std::min(std::size_t(t / kKeyStep), keys_.size() - 2);
    const double along = t / kKeyStep - double(key);
    cv::Mat3b out;
    cv::addWeighted(keys_[key], 1 - along, keys_[key + 1], along, 0, out);
    wet_.lay(out, t);
    if (sharp_ < 0) cv::GaussianBlur(out, out, {}, -sharp_ * side_ / 200.0);
    if (sharp_ > 0) {
        cv::Mat3b soft;
        cv::GaussianBlur(out, soft, {}, side_ / 260.0);
        cv::addWeighted(out, 1 + sharp_, soft, -sharp_, 0, out);
    }
    return out;
}

}  // namespace canalogue::demo::labelled
