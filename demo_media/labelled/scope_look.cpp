#include "demo_media/labelled/scope_look.hpp"

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"

namespace canalogue::demo::labelled {

namespace {

// The part of the painted picture that fills the frame.
cv::Rect2d part_of(const ScopeLook& look, cv::Size painted, cv::Size frame) {
    const double w = painted.width, h = painted.height, shape = static_cast<double>(frame.width) / frame.height;
    double ph = h, pw = std::min(w, h * shape);
    ph = pw / shape;
    if (look.rim == ScopeLook::Rim::none) {  // a rectangle inside the round picture
        const double diameter = .9 * h, part = diameter / std::hypot(shape, 1.0);
        ph = part, pw = part * shape;
    }
    if (look.rim == ScopeLook::Rim::partly) ph *= .72, pw *= .72;
    double x = (w - pw) / 2, y = (h - ph) / 2;
    if (look.rim == ScopeLook::Rim::partly) x += .1 * pw, y -= .06 * ph;
    return {x, y, pw, ph};
}

void wobble(cv::Mat3b& picture, double t) {
    cv::Mat1f x(picture.size()), y(picture.size());
    const double s = picture.rows / 720.0;
    for (int r = 0; r < picture.rows; ++r)
        for (int c = 0; c < picture.cols; ++c) {
            x(r, c) = static_cast<float>(c + s * (9 * std::sin(r / (46 * s) + 5 * t) + 4 * std::sin(c / (31 * s) - 7 * t)));
            y(r, c) = static_cast<float>(r + s * (9 * std::sin(c / (52 * s) - 4 * t) + 3 * std::sin(r / (27 * s) + 8 * t)));
        }
    cv::remap(picture.clone(), picture, x, y, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
}

void add_bubbles(cv::Mat3b& picture, std::uint64_t seed, double t) {
    Chance chance(seed ^ 0xB0B);
    cv::Mat3b over = picture.clone();
    for (int i = 0; i < 14; ++i) {
        const double rise = std::fmod(chance.unit() + t * chance.between(.05f, .2f), 1.0), x = chance.between(.25f, .75f) + .02 * std::sin(3 * t + i);
        const double r = static_cast<double>(chance.between(.012f, .05f)) * picture.rows;
        const cv::Point at(static_cast<int>(x * picture.cols), static_cast<int>((1 - rise) * picture.rows));
        cv::circle(over, at, static_cast<int>(r), {225, 232, 238}, std::max(1, static_cast<int>(r / 9)), cv::LINE_AA);
        cv::circle(over, at + cv::Point(static_cast<int>(-r / 3), static_cast<int>(-r / 3)), static_cast<int>(r / 5), {250, 252, 255}, cv::FILLED, cv::LINE_AA);
    }
    cv::addWeighted(over, .6, picture, .4, 0, picture);
}

void tint(cv::Mat3b& picture, const ScopeLook& look) {
    cv::Mat1b curve[3];
    for (int c = 0; c < 3; ++c) {
        curve[c] = cv::Mat1b(1, 256);
        const double factor = look.cast[c] * look.exposure * (c == 2 ? 1 + .1 * look.blood : 1 - .55 * look.blood);
        for (int v = 0; v < 256; ++v) curve[c](0, v) = cv::saturate_cast<std::uint8_t>(v * factor);
    }
    std::vector<cv::Mat> planes;
    cv::split(picture, planes);
    for (std::size_t c = 0; c < 3; ++c) cv::LUT(planes[c], curve[c], planes[c]);
    cv::merge(planes, picture);
}

// Less light at one side.
void shade_side(cv::Mat3b& picture) {
    for (int r = 0; r < picture.rows; ++r)
        for (int c = 0; c < picture.cols; ++c) {
            const double x = static_cast<double>(c) / picture.cols, f = .12 + .88 * std::min(1.0, x * 2.2);
            picture(r, c) *= f;
        }
}

}  // namespace

std::vector<std::string> ScopeLook::words() const {
    std::vector<std::string> out{rim == Rim::round ? "round rim" : rim == Rim::none ? "no rim" : rim == Rim::partly ? "rim partly out of frame" : "side vignette"};
    if (cast[0] < .9f) out.push_back("brown cast");
    if (cast[0] > 1.1f) out.push_back("blue cast");
    if (exposure > 1.25) out.push_back("over-exposed");
    if (exposure < .8) out.push_back("dark");
    if (blood > 0) out.push_back("blood");
    if (water) out.push_back("water");
    if (bubbles) out.push_back("bubbles");
    out.push_back(softness < 0 ? "sharpened" : softness > 1.5 ? "soft" : "medium sharp");
    return out;
}

cv::Mat3b seen_through(const ScopeLook& look, const cv::Mat3b& painted, cv::Size frame, double t, int number) {
    const cv::Rect2d part = part_of(look, painted.size(), frame);
    const cv::Mat1d into = (cv::Mat1d(2, 3) << frame.width / part.width, 0, -part.x * frame.width / part.width, 0, frame.height / part.height, -part.y * frame.height / part.height);
    cv::Mat3b out;
    cv::warpAffine(painted, out, into, frame, cv::INTER_CUBIC, cv::BORDER_REPLICATE);
    if (look.water) wobble(out, t);
    if (look.bubbles) add_bubbles(out, look.seed, t);
    tint(out, look);
    if (look.rim == ScopeLook::Rim::side) shade_side(out);
    const double sigma = std::abs(look.softness) * frame.height / 720;
    if (look.softness > .2) cv::GaussianBlur(out, out, {}, sigma);
    if (look.softness < 0) {
        cv::Mat3b soft;
        cv::GaussianBlur(out, soft, {}, std::max(.6, sigma));
        cv::addWeighted(out, 1.9, soft, -.9, 0, out);
    }
    cv::Mat noise(out.size(), CV_16SC3), wide;
    cv::RNG random(look.seed * 977 + static_cast<std::uint64_t>(number));
    random.fill(noise, cv::RNG::NORMAL, cv::Scalar::all(0), cv::Scalar::all(look.noise));
    out.convertTo(wide, CV_16SC3);
    wide += noise;
    wide.convertTo(out, CV_8UC3);
    return out;
}

}  // namespace canalogue::demo::labelled
