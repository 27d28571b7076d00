#include "demo_media/labelled/frame_maker.hpp"

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"
#include "demo_media/noise_fields.hpp"
#include "demo_media/vector3.hpp"

namespace canalogue::demo::labelled {

namespace {

constexpr int kNoiseSpare = 64;
constexpr std::uint8_t kShows = 64;  // of 255: below this a thing behind the rim is not seen

// 256 colours: cast and exposure with a soft shoulder.
cv::Mat tone_of(const Scope& s, float exposure) {
    cv::Mat out(1, 256, CV_8UC3);
    for (int v = 0; v < 256; ++v)
        for (int i = 0; i < 3; ++i) {
            const float x = flt(v) / 255 * s.cast[i] * exposure;
            out.at<cv::Vec3b>(0, v)[i] = cv::saturate_cast<uchar>(255 * (x < 0.75f ? x : 1 - 0.25f * std::exp(-(x - 0.75f) * 4)));
        }
    return out;
}

// Rows of two pictures by turns: the upper field is the earlier one.
template <class M>
void weave(M& upper, const M& lower) {
    for (int y = 1; y < upper.rows; y += 2) lower.row(y).copyTo(upper.row(y));
}

void join(std::vector<Place>& into, const std::vector<Place>& other) {
    for (const Place& p : other) {
        auto same = std::find_if(into.begin(), into.end(), [&](const Place& q) { return q.thing == p.thing; });
        if (same == into.end())
            into.push_back(p);
        else
            same->box |= p.box;
    }
}

}  // namespace

FrameMaker::FrameMaker(const Recipe& recipe, bool pictures) : recipe_(recipe), outside_(recipe), text_(recipe) {
    scope_ = scope_mask();
    if (!pictures) return;
    inside_ = std::make_unique<InsideView>(recipe);
    inside_tone_ = tone_of(recipe.scope, recipe.scope.exposure);
    outside_tone_ = tone_of(recipe.scope, 0.4f + 0.6f * recipe.scope.exposure);
    noise_ = make_noise();
}

cv::Mat1b FrameMaker::scope_mask() const {
    const cv::Size f = recipe_.form.size;
    const Scope& s = recipe_.scope;
    cv::Mat1b out(f);
    const float r = flt(s.across) * flt(f.height) / 2, mx = flt(s.middle.x) * flt(f.width), my = flt(s.middle.y) * flt(f.height);
    Chance chance(recipe_.seed ^ 0x21);
    const float soft = chance.between(0.01f, 0.07f);
    for (int y = 0; y < f.height; ++y)
        for (int x = 0; x < f.width; ++x) {
            float v = 1;
            const float dx = std::abs(flt(x) + 0.5f - mx), dy = std::abs(flt(y) + 0.5f - my);
            if (s.outline == Outline::round || s.outline == Outline::cut_round) v = smooth(1, 1 - soft, std::hypot(dx, dy) / r);
            if (s.outline == Outline::octagon) v = smooth(1, 0.985f, std::max({dx, dy, (dx + dy) * 0.7071f}) / r);
            if (s.vignette > 0) v *= 1 - s.vignette * smooth(0.25f, 0.5f, std::abs(flt(x) / flt(f.width) - 0.5f));
            out(y, x) = cv::saturate_cast<uchar>(255 * v);
        }
    return out;
}

cv::Mat FrameMaker::make_noise() const {
    const cv::Size f = recipe_.form.size;
    Chance chance(recipe_.seed ^ 0x9015E);
    cv::Mat3f grain(f.height + kNoiseSpare, f.width + kNoiseSpare);
    const auto draw = [&] { return chance.unit() + chance.unit() - 1; };
    for (auto& v : grain) {
        const float l = 2.2f * draw();
        v = {l + 2.0f * draw(), l + 0.9f * draw(), l + 1.7f * draw()};
    }
    cv::GaussianBlur(grain, grain, {}, 0.8);
    cv::Mat out;
    grain.convertTo(out, CV_8SC3, 4.5 * double(recipe_.scope.noise));
    return out;
}

// The working picture at its place in the frame, with the hand's unrest.
cv::Mat3b FrameMaker::inside(double t) const {
    cv::Mat3b work = inside_->picture(t);
    cv::LUT(work, inside_tone_, work);
    const cv::Size f = recipe_.form.size;
    const Scope& s = recipe_.scope;
    const bool whole = s.outline == Outline::rectangle;
    const double across = whole ? std::hypot(f.width, f.height) * 0.96 : s.across * f.height;
    const double phase = double(recipe_.seed % 97);
    const double zoom = across / work.cols * (1.06 + 0.035 * std::sin(0.7 * t + phase));
    const double turn = 0.03 * std::sin(0.5 * t + phase) + 0.008 * std::sin(2.9 * t);
    const double shake = across * 0.008;
    const double mx = s.middle.x * f.width + shake * (std::sin(1.7 * t + phase) + 0.5 * std::sin(7.1 * t)),
                 my = s.middle.y * f.height + shake * (std::sin(2.1 * t + 1) + 0.5 * std::sin(6.3 * t + phase));
    const double c = std::cos(turn) * zoom, n = std::sin(turn) * zoom, half = work.cols / 2.0;
    const cv::Matx23d place(c, -n, mx - c * half + n * half, n, c, my - n * half - c * half);
    cv::Mat3b out;
    cv::warpAffine(work, out, place, f, cv::INTER_LINEAR, cv::BORDER_CONSTANT, cv::Scalar(4, 3, 4));
    return out;
}

void FrameMaker::put_together(cv::Mat3b& picture, const cv::Mat1b& mask, int number) const {
    Chance chance(recipe_.seed * 977 + std::uint64_t(number));
    const int nx = int(chance.unit() * kNoiseSpare), ny = int(chance.unit() * kNoiseSpare);
    const cv::Vec3b around = recipe_.scope.surround;
    for (int y = 0; y < picture.rows; ++y) {
        std::uint8_t* p = picture.ptr<std::uint8_t>(y);
        const std::uint8_t* m = mask.ptr<std::uint8_t>(y);
        const std::int8_t* n = noise_.ptr<std::int8_t>(y + ny) + 3 * nx;
        for (int x = 0; x < picture.cols; ++x)
            for (int i = 0; i < 3; ++i) {
                const int k = 3 * x + i, v = (p[k] * m[x] + around[i] * (255 - m[x])) >> 8;
                p[k] = std::uint8_t(std::clamp(v + (v < 235 ? n[k] : n[k] / 4), 0, 255));
            }
    }
}

MadeFrame FrameMaker::instant(double t, int number) const {
    MadeFrame out;
    out.labels = cv::Mat1b(recipe_.form.size, kNothing);
    double part = 0;
    out.outing = outside_.outing_at(t, part);
    const bool rim = out.outing < 0 || recipe_.outside[std::size_t(out.outing)].rim;
    cv::Mat1b mask;  // a picture of its own where it changes: scope_ is shared by threads
    if (rim)
        mask = scope_;
    else
        cv::addWeighted(scope_, 1 - part, cv::Mat1b(scope_.size(), std::uint8_t(255)), part, 0, mask);
    if (inside_) {
        if (part < 1) out.picture = inside(t);
        if (part > 0) {
            cv::Mat3b outer = outside_.picture(out.outing, t);
            cv::LUT(outer, outside_tone_, outer);
            if (part < 1)
                cv::addWeighted(out.picture, 1 - part, outer, part, 0, out.picture);
            else
                out.picture = outer;
        }
        put_together(out.picture, mask, number);
    }
    if (part >= 0.5) {
        const SceneCanvas& canvas = outside_.canvas(out.outing);
        cv::Mat1b ids = outside_.ids(out.outing, t);
        ids.setTo(0, mask < kShows);
        std::vector<cv::Rect> box(canvas.things.size());
        for (int y = 0; y < ids.rows; ++y)
            for (int x = 0; x < ids.cols; ++x)
                if (const int id = ids(y, x)) {
                    out.labels(y, x) = canvas.things[std::size_t(id - 1)].what == "text" ? kRoomText : kPerson;
                    cv::Rect& b = box[std::size_t(id - 1)];
                    if (b.empty()) {
                        b = {x, y, 1, 1};
                        continue;
                    }
                    const int right = std::max(b.x + b.width, x + 1);
                    b.x = std::min(b.x, x), b.width = right - b.x, b.height = y + 1 - b.y;
                }
        for (std::size_t i = 0; i < box.size(); ++i)
            if (!box[i].empty()) out.seen.push_back({int(i), box[i]});
    }
    out.text = text_.draw(out.picture, out.labels, t);
    return out;
}

MadeFrame FrameMaker::make(int number) const {
    const double t = recipe_.times[std::size_t(number)];
    MadeFrame out = instant(t, number);
    if (!recipe_.form.interlaced) return out;
    const MadeFrame later = instant(t + 0.5 / recipe_.form.rate, number + 500000);
    if (!out.picture.empty()) weave(out.picture, later.picture);
    weave(out.labels, later.labels);
    join(out.text, later.text);
    if (out.outing < 0) out.outing = later.outing;
    if (later.outing == out.outing) join(out.seen, later.seen);
    return out;
}

}  // namespace canalogue::demo::labelled
