#include "export/cover_flow.hpp"

#include <algorithm>
#include <cstdint>
#include <utility>

namespace canalogue::film {

namespace {

CANALOGUE_WIDE void add_pairs(const float* __restrict value, const float* __restrict weight, std::size_t pairs, float* __restrict sums, float* __restrict weights) {
    for (std::size_t i = 0; i < pairs; ++i) {
        sums[i] += value[2 * i] * weight[2 * i] + value[2 * i + 1] * weight[2 * i + 1];
        weights[i] += weight[2 * i] + weight[2 * i + 1];
    }
}

Known halved(const Known& k) {
    Known out((k.w + 1) / 2, (k.h + 1) / 2);
    for (int y = 0; y < k.h; ++y) {
        const float *value = k.value.data() + k.at(0, y), *weight = k.weight.data() + k.at(0, y);
        float *into = out.value.data() + out.at(0, y / 2), *weights = out.weight.data() + out.at(0, y / 2);
        add_pairs(value, weight, static_cast<std::size_t>(k.w / 2), into, weights);
        if (k.w % 2) into[k.w / 2] += value[k.w - 1] * weight[k.w - 1], weights[k.w / 2] += weight[k.w - 1];
    }
    // Where nothing is known the sum is 0, and stays so.
    for (std::size_t i = 0; i < out.value.size(); ++i) {
        const float weight = out.weight[i];
        out.value[i] /= weight > 0 ? weight : 1.0f;
        out.weight[i] = std::min(1.0f, weight);
    }
    return out;
}

// Two columns from the coarse one they belong to and the one before or after it.
CANALOGUE_WIDE void grow_pairs(const float* __restrict coarse, std::size_t pairs, float* __restrict value, const float* __restrict weight) {
    for (std::size_t i = 0; i < pairs; ++i) {
        const float own = coarse[i + 1] * 0.75f;
        value[2 * i] += (own + coarse[i] * 0.25f - value[2 * i]) * (1 - weight[2 * i]);
        value[2 * i + 1] += (own + coarse[i + 2] * 0.25f - value[2 * i + 1]) * (1 - weight[2 * i + 1]);
    }
}

// Takes the unknown part of `fine` from `coarse`, between its four nearest values. A fine row lies a quarter of the way from the
// coarse row it belongs to to the one before or after it; columns likewise.
void grow(Known& fine, const Known& coarse) {
    const auto width = static_cast<std::size_t>(coarse.w);
    std::vector<float> row(width + 2);  // with a column more at either side
    for (int y = 0; y < fine.h; ++y) {
        const int own = y / 2, next = std::clamp(own + (y % 2 ? 1 : -1), 0, coarse.h - 1);
        const float *near = coarse.value.data() + coarse.at(0, own), *far = coarse.value.data() + coarse.at(0, next);
        for (std::size_t x = 0; x < width; ++x) row[x + 1] = near[x] * 0.75f + far[x] * 0.25f;
        row.front() = row[1], row.back() = row[width];
        float *value = fine.value.data() + fine.at(0, y), *weight = fine.weight.data() + fine.at(0, y);
        grow_pairs(row.data(), static_cast<std::size_t>(fine.w / 2), value, weight);
        if (const int last = fine.w - 1; fine.w % 2) value[last] += (row[width] * 0.75f + row[width - 1] * 0.25f - value[last]) * (1 - weight[last]);
    }
}

}  // namespace

bool flow_in(Known& k) {
    std::vector<Known> levels;
    levels.push_back(std::move(k));
    while (levels.back().w > 1 || levels.back().h > 1) levels.push_back(halved(levels.back()));
    const bool any = levels.back().weight[0] > 0;
    for (std::size_t i = levels.size() - 1; any && i > 0; --i) grow(levels[i - 1], levels[i]);
    k = std::move(levels[0]);
    return any;
}

}  // namespace canalogue::film
