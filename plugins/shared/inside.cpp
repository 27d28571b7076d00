#include "plugins/shared/inside.hpp"

#include <algorithm>
#include <cmath>

#include "plugins/shared/inside_weights.hpp"

namespace canalogue::view {

static_assert(std::size(weights::kMean) == kFeatures, "the table is of other features: run recipe/train.py");

double inside(const Features& features) {
    constexpr double kFarthest = 4;  // spreads from the mean; beyond it the net has seen nothing
    Features x{};
    for (std::size_t i = 0; i < kFeatures; ++i)
        x[i] = std::clamp((features[i] - weights::kMean[i]) / weights::kScale[i], -kFarthest, kFarthest);
    double sum = weights::kOutBias;
    for (std::size_t unit = 0; unit < weights::kUnits; ++unit) {
        double s = weights::kHiddenBias[unit];
        for (std::size_t i = 0; i < kFeatures; ++i) s += weights::kHidden[unit * kFeatures + i] * x[i];
        sum += weights::kOut[unit] * std::tanh(s);
    }
    return 1 / (1 + std::exp(-sum));
}

}  // namespace canalogue::view
