#include "demo_media/lens.hpp"

#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"
#include "demo_media/noise_fields.hpp"

namespace canalogue::demo {

namespace {

constexpr float kFocusMm = 6.5f;

cv::Mat blurred(const cv::Mat& picture, double sigma, int shrink) {
    if (shrink <= 1) {
        cv::Mat out;
        cv::GaussianBlur(picture, out, {}, sigma);
        return out;
    }
    cv::Mat small, out;
    cv::resize(picture, small, {}, 1.0 / shrink, 1.0 / shrink, cv::INTER_AREA);
    cv::GaussianBlur(small, small, {}, sigma / shrink);
    cv::resize(small, out, picture.size(), 0, 0, cv::INTER_LINEAR);
    return out;
}

// Far out of focus a bright point becomes a disc, not a haze.
cv::Mat3f discs(const cv::Mat3f& picture, double radius, int shrink) {
    cv::Mat3f small, out;
    cv::resize(picture, small, {}, 1.0 / shrink, 1.0 / shrink, cv::INTER_AREA);
    const int r = std::max(1, int(std::lround(radius / shrink)));
    cv::Mat1f disc(2 * r + 1, 2 * r + 1, 0.0f);
    cv::circle(disc, {r, r}, r, cv::Scalar(1), cv::FILLED, cv::LINE_8);
    disc /= cv::sum(disc)[0];
    cv::filter2D(small, small, -1, disc, {-1, -1}, 0, cv::BORDER_REPLICATE);
    cv::resize(small, out, picture.size(), 0, 0, cv::INTER_CUBIC);
    return out;
}

// Brightness factor that puts the middle of the picture where a scope's automatic exposure puts it.
float gain_for(const cv::Mat3f& light) {
    std::vector<float> level;
    const int n = light.rows;
    for (int y = 2; y < n; y += 5)
        for (int x = 2; x < n; x += 5) {
            if (std::hypot(flt(2 * x - n), flt(2 * y - n)) > 0.75f * flt(n)) continue;
            const auto& c = light(y, x);
            level.push_back(0.1f * c[0] + 0.6f * c[1] + 0.3f * c[2]);
        }
    if (level.empty()) return 1;
    const auto at = [&](double part) {
        auto it = level.begin() + std::ptrdiff_t(part * double(level.size() - 1));
        std::nth_element(level.begin(), it, level.end());
        return *it;
    };
    const float middle = at(0.5), upper = at(0.8);
    return 1 / std::max(0.004f, 1.5f * middle + 1.0f * upper);
}

float tone(float v) {
    v = std::max(0.0f, v);
    const float shoulder = v < 0.6f ? v : 0.6f + (1 - std::exp(-(v - 0.6f) * 1.6f)) * 0.5f;
    return std::pow(shoulder, 1 / 2.2f);
}

}  // namespace

Lens::Lens(std::uint64_t seed, int side, cv::Size frame)
    : seed_(seed),
      frame_(frame),
      round_(int(std::lround(frame.height * kRoundPart))),
      rim_(side, side),
      falloff_(side, side),
      surround_(frame) {
    Chance chance(seed ^ 0x1E5);
    cast_ = {1.13f + 0.03f * chance.spread(), 0.97f + 0.008f * chance.spread(),
             1.0f + 0.02f * chance.spread()};
    const cv::Mat1f wobble = cloud({side, side}, {3, 3, 2, 0.5f}, seed + 1);
    const float half = flt(side) / 2;
    for (int y = 0; y < side; ++y)
        for (int x = 0; x < side; ++x) {
            const float out = std::hypot(flt(x) + 0.5f - half, flt(y) + 0.5f - half) / half;
            const float edge = out + 0.03f * (wobble(y, x) - 0.5f);
            rim_(y, x) = smooth(1.0f, 0.89f, edge);
            falloff_(y, x) = 1 - 0.30f * smooth(0.45f, 1.0f, out);
        }
    grease_ = cloud({side, side}, {2.2f, 2.2f, 4, 0.5f}, seed + 2);
    for (int y = 0; y < side; ++y)
        for (int x = 0; x < side; ++x) {
            const float lean = (flt(side - x) * 0.5f + flt(y) * 0.8f) / flt(side);  // mostly lower left
            grease_(y, x) = smooth(0.55f, 1.05f, lean * 0.75f + grease_(y, x) * 0.6f);
        }
    cv::GaussianBlur(grease_, grease_, {}, side / 60.0);
    streaks_ =
        stirred(cloud({side, side}, {2, 22, 3, 0.6f}, seed + 3), flt(side) / 14, {3, 3, 2, 0.5f}, seed + 4);
    const cv::Mat1f gloom = cloud(frame, {3, 2, 2, 0.5f}, seed + 6);
    const cv::Point2f middle(flt(frame.width) / 2, flt(frame.height) / 2);
    for (int y = 0; y < frame.height; ++y)
        for (int x = 0; x < frame.width; ++x) {
            const float far = flt(cv::norm(cv::Point2f(flt(x), flt(y)) - middle)) / flt(round_) * 2;
            const float haze = 0.035f + 0.15f * smooth(1.5f, 0.92f, far) * (0.6f + 0.8f * gloom(y, x));
            surround_(y, x) = cv::Vec3f(1.06f, 0.80f, 0.98f) * haze;
        }
    cv::Mat3f grain(frame.height + 64, frame.width + 64);
    for (auto& v : grain) {
        const float l = chance.spread();
        v = {l + 0.9f * chance.spread(), l + 0.35f * chance.spread(), l + 0.8f * chance.spread()};
    }
    cv::GaussianBlur(grain, noise_, {}, 0.75);
}

cv::Mat3f Lens::expose(const Seen& seen, const HairInk& hairs) const {
    const int side = seen.light.rows;
    const double px = side / 456.0;  // blur lengths below are for this working size
    cv::Mat3f light;
    seen.light.convertTo(light, CV_32F, gain_for(seen.light));
    for (int y = 0; y < side; ++y)
        for (int x = 0; x < side; ++x)
            for (int i = 0; i < 3; ++i)
                light(y, x)[i] = std::min(light(y, x)[i] * cast_[i] * falloff_(y, x), 9.0f);
    const cv::Mat3f soft = blurred(light, 1.8 * px, 1), softer = discs(light, 6 * px, 2),
                    softest = discs(light, 15 * px, 4);
    cv::Mat1f spread(side, side);
    for (int y = 0; y < side; ++y)
        for (int x = 0; x < side; ++x) {
            const float d = seen.distance(y, x);
            spread(y, x) =
                d > 0 ? std::min(18.0f, 24.0f * std::abs(1 / std::max(d, 0.3f) - 1 / kFocusMm)) : 8.0f;
        }
    // What is near spills over its own outline, so its blur reaches a little beyond it.
    cv::Mat1f coarse;
    cv::resize(spread, coarse, {}, 0.25, 0.25, cv::INTER_AREA);
    cv::dilate(coarse, coarse, cv::getStructuringElement(cv::MORPH_ELLIPSE, {5, 5}));
    cv::GaussianBlur(coarse, coarse, {}, 1.5);
    cv::resize(coarse, spread, spread.size(), 0, 0, cv::INTER_LINEAR);
    cv::Mat1f near;
    hairs.near.convertTo(near, CV_32F, 1 / 255.0);
    near = blurred(near, 3.0 * px, 2);
    cv::Mat3f out(side, side);
    for (int y = 0; y < side; ++y)
        for (int x = 0; x < side; ++x) {
            const float s = spread(y, x);
            cv::Vec3f c = s < 2   ? light(y, x) * (1 - s / 2) + soft(y, x) * (s / 2)
                          : s < 6 ? soft(y, x) * (1 - (s - 2) / 4) + softer(y, x) * ((s - 2) / 4)
                                  : softer(y, x) * (1 - std::min(1.0f, (s - 6) / 9)) +
                                        softest(y, x) * std::min(1.0f, (s - 6) / 9);
            c += softest(y, x) * 0.05f;  // stray light in the lens
            const float dark = flt(hairs.dark(y, x)) / 255, bright = flt(hairs.bright(y, x)) / 255;
            c = c * (1 - 0.82f * dark);
            c = c * (1 - 0.6f * bright) + cv::Vec3f(0.95f, 0.88f, 0.90f) * (0.46f * bright);
            c = c * (1 - 0.45f * near(y, x)) + cv::Vec3f(0.45f, 0.42f, 0.45f) * (0.35f * near(y, x));
            out(y, x) = {tone(c[0]), tone(c[1]), tone(c[2])};
        }
    const cv::Mat3f hazy = blurred(out, 1.6 * px, 1);
    cv::addWeighted(out, 1.15, hazy, -0.15, 0, out);  // scopes sharpen hard
    return out;
}

void Lens::smear(cv::Mat3f& picture, float veil, float tissue) const {
    const double px = picture.rows / 456.0;
    if (veil > 0.003f) {
        const cv::Mat3f melted = blurred(picture, 16 * px, 4);
        for (int y = 0; y < picture.rows; ++y)
            for (int x = 0; x < picture.cols; ++x) {
                const float a = clamp01(veil * 1.5f * grease_(y, x) + 0.10f * veil);
                const float streak = 0.82f + 0.36f * streaks_(y, x);
                const cv::Vec3f under = melted(y, x) * (0.72f * streak) + cv::Vec3f(0.12f, 0.17f, 0.18f);
                picture(y, x) = picture(y, x) * (1 - a) + under * a;
            }
    }
    if (tissue > 0.003f)
        for (int y = 0; y < picture.rows; ++y)
            for (int x = 0; x < picture.cols; ++x) {
                const float fold = 0.80f + 0.2f * streaks_(x, y);
                const float a = clamp01(tissue * 1.8f - 0.8f * flt(x) / flt(picture.cols));
                picture(y, x) = picture(y, x) * (1 - a) + cv::Vec3f(0.90f, 0.92f, 0.93f) * (fold * a);
            }
}

cv::Mat3b Lens::finish(const cv::Mat3f& picture, int number) const {
    cv::Mat3f round, frame = surround_.clone();
    cv::Mat1f rim;
    cv::resize(picture, round, {round_, round_}, 0, 0, cv::INTER_CUBIC);
    cv::resize(rim_, rim, {round_, round_}, 0, 0, cv::INTER_LINEAR);
    const int left = (frame_.width - round_) / 2, top = (frame_.height - round_) / 2;
    for (int y = 0; y < round_; ++y)
        for (int x = 0; x < round_; ++x) {
            cv::Vec3f& f = frame(top + y, left + x);
            f = f * (1 - rim(y, x)) + round(y, x) * rim(y, x);
        }
    Chance chance(seed_ * 977 + std::uint64_t(number));
    const int nx = int(chance.unit() * 64), ny = int(chance.unit() * 64);
    cv::Mat3b out(frame_);
    for (int y = 0; y < frame_.height; ++y) {
        const cv::Vec3f *f = frame[y], *n = noise_[y + ny] + nx;
        cv::Vec3b* o = out[y];
        for (int x = 0; x < frame_.width; ++x)
            for (int i = 0; i < 3; ++i) {
                // Dark parts are noisier after gamma, and white parts have none.
                const float v = f[x][i] * 255, amount = v < 235 ? 2.2f : 0.5f;
                o[x][i] = cv::saturate_cast<uchar>(v + n[x][i] * amount);
            }
    }
    return out;
}

}  // namespace canalogue::demo
