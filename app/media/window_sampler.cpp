#include "app/media/window_sampler.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::media {

namespace {

constexpr int kOne = 1 << 14;   // a weight of 1
constexpr int kRowShift = 8;    // scaled across, samples keep 6 bits below the point
constexpr int kShift = 14 + 14 - kRowShift;

// Keys' cubic with a = -1/2 (Catmull-Rom): R. Keys, "Cubic convolution interpolation for digital image
// processing", IEEE Trans. ASSP 29 (1981).
double cubic(double x) {
    x = std::abs(x);
    if (x < 1) return (1.5 * x - 2.5) * x * x + 1;
    if (x < 2) return ((-0.5 * x + 2.5) * x - 4) * x + 2;
    return 0;
}

// Weights as whole numbers that add up to exactly kOne: a plain picture stays exactly as it is.
void settle(const std::vector<double>& exact, double sum, std::int16_t* out) {
    int left = kOne;
    std::size_t heaviest = 0;
    for (std::size_t i = 0; i < exact.size(); ++i) {
        out[i] = static_cast<std::int16_t>(std::lround(exact[i] / sum * kOne));
        left -= out[i];
        if (exact[i] > exact[heaviest]) heaviest = i;
    }
    out[heaviest] = static_cast<std::int16_t>(out[heaviest] + left);
}

}  // namespace

// The samples that are made stand evenly over [start, start + extent) of the source's samples, of which
// sample i covers [i, i + 1). Beyond the edge the last sample is repeated.
WindowSampler::Taps WindowSampler::taps(int source, int made, double start, double extent) {
    const double step = extent / made, wide = std::max(1.0, step), reach = 2 * wide;
    Taps out;
    out.each = std::min(source, static_cast<int>(std::ceil(2 * reach)) + 1);
    out.first.resize(static_cast<std::size_t>(made));
    out.weights.resize(static_cast<std::size_t>(made) * static_cast<std::size_t>(out.each));
    std::vector<double> exact(static_cast<std::size_t>(out.each));
    for (int k = 0; k < made; ++k) {
        const double middle = start + (k + 0.5) * step - 0.5;
        const int low = static_cast<int>(std::floor(middle - reach)), high = static_cast<int>(std::ceil(middle + reach));
        const int first = std::clamp(static_cast<int>(std::ceil(middle - reach)), 0, source - out.each);
        std::fill(exact.begin(), exact.end(), 0);
        double sum = 0;
        for (int i = low; i <= high; ++i) {
            const double weight = cubic((i - middle) / wide);
            exact[static_cast<std::size_t>(std::clamp(std::clamp(i, 0, source - 1) - first, 0, out.each - 1))] += weight;
            sum += weight;
        }
        out.first[static_cast<std::size_t>(k)] = first;
        settle(exact, sum, &out.weights[static_cast<std::size_t>(k) * static_cast<std::size_t>(out.each)]);
    }
    return out;
}

void WindowSampler::sample_plane(const std::uint8_t* from, int from_stride, const Taps& across, const Taps& down, std::uint8_t* to, int to_stride) {
    const std::size_t width = across.first.size();
    const int begin = *std::min_element(down.first.begin(), down.first.end());
    const int end = *std::max_element(down.first.begin(), down.first.end()) + down.each;
    rows_.resize(width * static_cast<std::size_t>(end - begin));
    for (int y = begin; y < end; ++y) {
        const std::uint8_t* row = from + static_cast<std::ptrdiff_t>(y) * from_stride;
        std::int16_t* out = &rows_[width * static_cast<std::size_t>(y - begin)];
        const std::int16_t* weights = across.weights.data();
        for (std::size_t x = 0; x < width; ++x, weights += across.each) {
            const std::uint8_t* first = row + across.first[x];
            int sum = 1 << (kRowShift - 1);
            for (int i = 0; i < across.each; ++i) sum += first[i] * weights[i];
            out[x] = static_cast<std::int16_t>(sum >> kRowShift);
        }
    }
    sums_.resize(width);
    for (std::size_t y = 0; y < down.first.size(); ++y) {
        std::fill(sums_.begin(), sums_.end(), 1 << (kShift - 1));
        for (int i = 0; i < down.each; ++i) {
            const int weight = down.weights[y * static_cast<std::size_t>(down.each) + static_cast<std::size_t>(i)];
            if (weight == 0) continue;
            const std::int16_t* row = &rows_[width * static_cast<std::size_t>(down.first[y] - begin + i)];
            for (std::size_t x = 0; x < width; ++x) sums_[x] += row[x] * weight;
        }
        std::uint8_t* out = to + static_cast<std::ptrdiff_t>(y) * to_stride;
        for (std::size_t x = 0; x < width; ++x) out[x] = static_cast<std::uint8_t>(std::clamp(sums_[x] >> kShift, 0, 255));
    }
}

Result<FramePtr> WindowSampler::sample(const AVFrame& source, const ShareBox& window, Size target) {
    FramePtr out = make_frame(AV_PIX_FMT_YUV420P, target);
    if (!out) return machine_trouble("There is not enough memory for a picture; close other programs.");
    for (int p = 0; p < 3; ++p) {
        const int shift = p ? 1 : 0;
        const Size from{(source.width + shift) >> shift, (source.height + shift) >> shift}, to{(target.w + shift) >> shift, (target.h + shift) >> shift};
        // Measured in this plane's samples. Colour samples stand a quarter of their width left of the middle
        // of the pixels they belong to (MPEG-2's and H.264's place for them), here and in what is made.
        const double scale = window.w * source.width / target.w;
        const double left = window.x * source.width / (1 << shift) + (p ? 0.25 - 0.25 * scale : 0);
        const Taps across = taps(from.w, to.w, left, window.w * source.width / (1 << shift));
        const Taps down = taps(from.h, to.h, window.y * source.height / (1 << shift), window.h * source.height / (1 << shift));
        sample_plane(source.data[p], source.linesize[p], across, down, out->data[p], out->linesize[p]);
    }
    out->colorspace = AVCOL_SPC_BT709;
    out->color_range = AVCOL_RANGE_MPEG;
    return out;
}

}  // namespace canalogue::media
