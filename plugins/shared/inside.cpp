#include "plugins/shared/inside.hpp"

#include <algorithm>
#include <cmath>

#include "plugins/shared/inside_weights.hpp"

namespace canalogue::view {

namespace {

constexpr std::size_t kInputs = kFeatures + kSeen;
static_assert(std::size(weights::kMean) == kInputs, "the table is of other features: run recipe/train.py");

using Inputs = std::array<double, kInputs>;

double told_by(const Inputs& given) {
    constexpr double kFarthest = 4;  // spreads from the mean; beyond it the net has seen nothing
    Inputs x{};
    for (std::size_t i = 0; i < kInputs; ++i) x[i] = std::clamp((given[i] - weights::kMean[i]) / weights::kScale[i], -kFarthest, kFarthest);
    double sum = weights::kOutBias;
    for (std::size_t unit = 0; unit < weights::kUnits; ++unit) {
        double s = weights::kHiddenBias[unit];
        for (std::size_t i = 0; i < kInputs; ++i) s += weights::kHidden[unit * kInputs + i] * x[i];
        sum += weights::kOut[unit] * std::tanh(s);
    }
    return 1 / (1 + std::exp(-sum));
}

}  // namespace

double Inside::of(const cv::Mat& rgb) {
    Inputs given{};
    const auto measured = features(small_view(rgb));
    const auto seen = net_.look(rgb);
    std::copy(seen.begin(), seen.end(), std::copy(measured.begin(), measured.end(), given.begin()));
    return told_by(given);
}

}  // namespace canalogue::view
