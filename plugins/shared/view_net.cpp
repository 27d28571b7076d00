#include "plugins/shared/view_net.hpp"

#include <cmath>
#include <opencv2/imgproc.hpp>

namespace canalogue::view {

namespace {

constexpr int kSide = 256;

nets::Tensor tensor_of(const cv::Mat& rgb) {
    cv::Mat small;
    cv::resize(rgb, small, {kSide, kSide}, 0, 0, std::max(rgb.cols, rgb.rows) > kSide ? cv::INTER_AREA : cv::INTER_LINEAR);
    constexpr auto plane = static_cast<std::size_t>(kSide) * kSide;
    nets::Tensor out{std::vector<float>(plane * 3), {1, 3, kSide, kSide}};
    for (std::size_t i = 0; i < plane; ++i)
        for (std::size_t c = 0; c < 3; ++c) out.values[c * plane + i] = small.data[i * 3 + c];
    return out;
}

// Mean and spread of each map.
float* pooled(const nets::Tensor& maps, float* out) {
    const auto count = static_cast<std::size_t>(maps.shape[1]), size = maps.values.size() / count;
    for (std::size_t m = 0; m < count; ++m) {
        double sum = 0, squares = 0;
        for (std::size_t i = 0; i < size; ++i) {
            const double v = maps.values[m * size + i];
            sum += v;
            squares += v * v;
        }
        const double n = static_cast<double>(size), mean = sum / n;
        *out++ = static_cast<float>(mean);
        *out++ = static_cast<float>(std::sqrt(std::max(0., squares / n - mean * mean)));
    }
    return out;
}

}  // namespace

Seen ViewNet::look(const cv::Mat& rgb) {
    const auto input = tensor_of(rgb);
    Seen seen{};
    float* at = seen.data();
    for (const auto& maps : net_.run({{"picture", &input}}, {"fine", "middle", "coarse"})) at = pooled(maps, at);
    return seen;
}

}  // namespace canalogue::view
