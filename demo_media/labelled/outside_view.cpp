#include "demo_media/labelled/outside_view.hpp"

#include <cmath>
#include <opencv2/imgproc.hpp>

namespace canalogue::demo::labelled {

namespace {

double eased(double x) {
    x = std::clamp(x, 0.0, 1.0);
    return x * x * (3 - 2 * x);
}

}  // namespace

OutsideView::OutsideView(const Recipe& recipe) : recipe_(recipe) {
    for (const Outing& o : recipe.outside) canvases_.push_back(scene_canvas(o.scene, o.seed, files_));
    std::sort(files_.begin(), files_.end());
    files_.erase(std::unique(files_.begin(), files_.end()), files_.end());
}

int OutsideView::outing_at(double t, double& part) const {
    for (std::size_t i = 0; i < recipe_.outside.size(); ++i) {
        const Outing& o = recipe_.outside[i];
        if (t < o.start || t >= o.end) continue;
        const double in = o.start <= 0 ? 1 : (t - o.start) / o.fade;
        const double out = o.end >= recipe_.seconds ? 1 : (o.end - t) / o.fade;
        part = std::max(0.02, eased(std::min(in, out)));
        return int(i);
    }
    part = 0;
    return -1;
}

double OutsideView::nearness(int outing, double t) const {
    const Outing& o = recipe_.outside[std::size_t(outing)];
    const double in = o.start <= 0 ? 1 : (t - o.start) / (o.fade + o.pull);
    const double out = o.end >= recipe_.seconds ? 1 : (o.end - t) / (o.fade + o.pull);
    return 1 - eased(std::min(in, out));
}

cv::Matx23d OutsideView::view(int outing, double t, double scale) const {
    const Outing& o = recipe_.outside[std::size_t(outing)];
    const SceneCanvas& c = canvas(outing);
    const double phase = double(o.seed % 628) / 100, along = eased((t - o.start) / (o.end - o.start));
    const double near = nearness(outing, t);
    const cv::Size frame = recipe_.form.size;
    const double w = c.picture.cols, h = c.picture.rows;
    const double zoom = frame.height / (c.wide * h) * (1 + 2.2 * near) * (1 + 0.05 * std::sin(0.9 * t + phase));
    double cx = (c.begin.x + (c.end.x - c.begin.x) * along) * w + 14 * std::sin(2.3 * t + phase) + 6 * std::sin(5.9 * t);
    double cy = (c.begin.y + (c.end.y - c.begin.y) * along) * h + 12 * std::sin(1.9 * t + 2 + phase) + 6 * std::sin(6.7 * t);
    const double half_w = std::min(w / 2, frame.width / zoom / 2), half_h = std::min(h / 2, frame.height / zoom / 2);
    cx = std::clamp(cx, half_w, w - half_w), cy = std::clamp(cy, half_h, h - half_h);
    const double turn = 0.07 * std::sin(0.8 * t + phase) + 0.02 * std::sin(3.7 * t) + 0.25 * near * std::sin(phase);
    const double cs = std::cos(turn) * zoom * scale, sn = std::sin(turn) * zoom * scale;
    const double mx = frame.width * scale / 2, my = frame.height * scale / 2;
    return {cs, -sn, mx - cs * cx + sn * cy, sn, cs, my - sn * cx - cs * cy};
}

cv::Mat3b OutsideView::picture(int outing, double t) const {
    const cv::Size frame = recipe_.form.size;
    const double near = nearness(outing, t);
    // Scopes have small sensors; what melts needs fewer pixels still.
    const double scale = std::min(1.0, 620.0 / std::min(frame.width, frame.height)) * (near > 0.3 ? 0.5 : 1);
    const cv::Size work(int(std::lround(frame.width * scale)), int(std::lround(frame.height * scale)));
    cv::Mat3b out;
    cv::warpAffine(canvas(outing).picture, out, view(outing, t, scale), work, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    const double blur = std::min(work.width, work.height) / 620.0 * (0.6 + 14 * near);
    cv::GaussianBlur(out, out, {}, blur);
    cv::resize(out, out, frame, 0, 0, cv::INTER_LINEAR);
    return out;
}

cv::Mat1b OutsideView::ids(int outing, double t) const {
    cv::Mat1b out;
    cv::warpAffine(canvas(outing).ids, out, view(outing, t, 1), recipe_.form.size, cv::INTER_NEAREST, cv::BORDER_REPLICATE);
    return out;
}

}  // namespace canalogue::demo::labelled
