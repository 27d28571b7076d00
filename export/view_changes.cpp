#include "export/view_changes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <numbers>

namespace canalogue::film {

namespace {

// BT.709: luma of red, green and blue; colour differences are (B - Y) / 1.8556 and (R - Y) / 1.5748 (ITU-R BT.709-6, section 3).
constexpr double kRed = 0.2126, kGreen = 0.7152, kBlue = 0.0722, kCb = 1.8556, kCr = 1.5748;
constexpr int kBlack = 16, kNoColour = 128;

std::uint8_t byte(double v, int low, int high) { return static_cast<std::uint8_t>(std::clamp(static_cast<int>(std::lround(v)), low, high)); }

std::shared_ptr<AVFrame> like(const AVFrame& frame) {
    media::FramePtr out = media::make_frame(AV_PIX_FMT_YUV420P, {frame.width, frame.height});
    if (!out) return nullptr;
    return {out.release(), media::LibavDelete{}};
}

struct Plane {
    int number, w, h;
};
std::array<Plane, 3> planes(const AVFrame& f) {
    const int cw = (f.width + 1) / 2, ch = (f.height + 1) / 2;
    return {Plane{0, f.width, f.height}, Plane{1, cw, ch}, Plane{2, cw, ch}};
}

void mirror(AVFrame& frame) {
    for (const auto& p : planes(frame))
        for (int y = 0; y < p.h; ++y) {
            std::uint8_t* row = frame.data[p.number] + y * frame.linesize[p.number];
            std::reverse(row, row + p.w);
        }
}

// Bilinear, in 1/256 of a sample. Quarter turns fall on whole samples of a square only, so all turns go the same way.
void turn(const AVFrame& from, AVFrame& to, double degrees) {
    const double angle = degrees * std::numbers::pi / 180, c = std::cos(angle), s = std::sin(angle);
    for (const auto& p : planes(from)) {
        const int outside = p.number == 0 ? kBlack : kNoColour;
        const double mx = (p.w - 1) / 2.0, my = (p.h - 1) / 2.0;
        const std::uint8_t* src = from.data[p.number];
        const int stride = from.linesize[p.number];
        const auto sample = [&](int x, int y) { return x < 0 || y < 0 || x >= p.w || y >= p.h ? outside : src[y * stride + x]; };
        for (int y = 0; y < p.h; ++y) {
            std::uint8_t* row = to.data[p.number] + y * to.linesize[p.number];
            for (int x = 0; x < p.w; ++x) {
                const double sx = c * (x - mx) + s * (y - my) + mx, sy = -s * (x - mx) + c * (y - my) + my;
                const int ix = static_cast<int>(std::floor(sx)), iy = static_cast<int>(std::floor(sy));
                const int fx = static_cast<int>((sx - ix) * 256), fy = static_cast<int>((sy - iy) * 256);
                const int top = sample(ix, iy) * (256 - fx) + sample(ix + 1, iy) * fx, bottom = sample(ix, iy + 1) * (256 - fx) + sample(ix + 1, iy + 1) * fx;
                row[x] = static_cast<std::uint8_t>((top * (256 - fy) + bottom * fy + (1 << 15)) >> 16);
            }
        }
    }
}

// Factors of red, green and blue are, seen from luma and colour differences, one linear change: [Y Cb Cr] = M * [Y Cb Cr].
std::array<double, 9> matrix_of(const LightChange& l) {
    // Rows of red, green and blue in terms of Y, Cb, Cr.
    const double r[3] = {1, 0, kCr}, b[3] = {1, kCb, 0};
    double g[3];
    for (int i = 0; i < 3; ++i) g[i] = ((i == 0 ? 1.0 : 0.0) - kRed * r[i] - kBlue * b[i]) / kGreen;
    std::array<double, 9> m{};
    for (std::size_t i = 0; i < 3; ++i) {
        const double y = kRed * l.red * r[i] + kGreen * l.green * g[i] + kBlue * l.blue * b[i];
        m[i] = y, m[3 + i] = (l.blue * b[i] - y) / kCb, m[6 + i] = (l.red * r[i] - y) / kCr;
    }
    return m;
}

void change_light(AVFrame& f, const LightChange& light) {
    const auto m = matrix_of(light);
    // Luma spans 219 steps, colour differences 224.
    const double y_of_c = 219.0 / 224, c_of_y = 224.0 / 219;
    for (int y = 0; y < f.height; y += 2)
        for (int x = 0; x < f.width; x += 2) {
            std::uint8_t& cb = f.data[1][y / 2 * f.linesize[1] + x / 2];
            std::uint8_t& cr = f.data[2][y / 2 * f.linesize[2] + x / 2];
            const double b = cb - kNoColour, r = cr - kNoColour;
            double sum = 0;
            int count = 0;
            for (int dy = 0; dy < 2 && y + dy < f.height; ++dy)
                for (int dx = 0; dx < 2 && x + dx < f.width; ++dx) {
                    std::uint8_t& luma = f.data[0][(y + dy) * f.linesize[0] + x + dx];
                    const double v = luma - kBlack;
                    sum += v, ++count;
                    luma = byte(m[0] * v + (m[1] * b + m[2] * r) * y_of_c + kBlack, kBlack, 235);
                }
            const double v = sum / count * c_of_y;
            cb = byte(m[3] * v + m[4] * b + m[5] * r + kNoColour, 16, 240);
            cr = byte(m[6] * v + m[7] * b + m[8] * r + kNoColour, 16, 240);
        }
}

}  // namespace

void MeanColour::add(const AVFrame& f, const ShareBox& window) {
    const auto edge = [](double share, int whole) { return std::clamp(static_cast<int>(std::lround(share * whole)) & ~1, 0, whole & ~1); };
    constexpr double kDark = 0.1, kWhite = 0.95;
    for (int y = edge(window.y, f.height); y < edge(window.bottom(), f.height); y += 2)
        for (int x = edge(window.x, f.width); x < edge(window.right(), f.width); x += 2) {
            const double luma = (f.data[0][y * f.linesize[0] + x] - kBlack) / 219.0;
            if (luma < kDark || luma > kWhite) continue;
            const double b = (f.data[1][y / 2 * f.linesize[1] + x / 2] - kNoColour) / 224.0, r = (f.data[2][y / 2 * f.linesize[2] + x / 2] - kNoColour) / 224.0;
            const double red_here = luma + kCr * r, blue_here = luma + kCb * b;
            red += red_here, blue += blue_here, green += (luma - kRed * red_here - kBlue * blue_here) / kGreen, ++weight;
        }
}

LightChange light_for(const MeanColour& white, double brightness) {
    LightChange out;
    if (white.weight > 0) {
        const double r = white.red / white.weight, g = white.green / white.weight, b = white.blue / white.weight, y = kRed * r + kGreen * g + kBlue * b;
        const auto factor = [&](double v) { return std::clamp(v > 1e-3 ? y / v : 2.0, 0.5, 2.0); };
        out = {factor(r), factor(g), factor(b)};
    }
    const double lighter = std::pow(2.0, brightness / 2.4);
    if (brightness != 0) out.red *= lighter, out.green *= lighter, out.blue *= lighter;
    return out;
}

std::shared_ptr<AVFrame> ViewChanger::apply(const std::shared_ptr<AVFrame>& frame, const ViewChange& view, const LightChange& light) {
    if (!view.shape_changed() && light.none()) return frame;
    auto out = like(*frame);
    if (!out) return nullptr;
    if (view.turn != 0) {
        if (view.mirrored) {
            auto mirrored = like(*frame);
            if (!mirrored || av_frame_copy(mirrored.get(), frame.get()) < 0) return nullptr;
            mirror(*mirrored);
            turn(*mirrored, *out, view.turn);
        } else turn(*frame, *out, view.turn);
    } else {
        if (av_frame_copy(out.get(), frame.get()) < 0) return nullptr;
        if (view.mirrored) mirror(*out);
    }
    if (!light.none()) change_light(*out, light);
    return out;
}

std::shared_ptr<AVFrame> mean_of(const std::vector<std::shared_ptr<AVFrame>>& frames) {
    if (frames.size() == 1) return frames.front();
    auto out = like(*frames.front());
    if (!out) return nullptr;
    const auto n = static_cast<unsigned>(frames.size());
    std::vector<unsigned> sums;
    for (const auto& p : planes(*out))
        for (int y = 0; y < p.h; ++y) {
            sums.assign(static_cast<std::size_t>(p.w), n / 2);
            for (const auto& f : frames) {
                const std::uint8_t* row = f->data[p.number] + y * f->linesize[p.number];
                for (std::size_t x = 0; x < sums.size(); ++x) sums[x] += row[x];
            }
            std::uint8_t* to = out->data[p.number] + y * out->linesize[p.number];
            for (std::size_t x = 0; x < sums.size(); ++x) to[x] = static_cast<std::uint8_t>(sums[x] / n);
        }
    return out;
}

}  // namespace canalogue::film
