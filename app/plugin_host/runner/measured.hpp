// What a gauge measured in a span, written down for the program. Bounded, and checked over there.
#pragma once

#include "app/plugin_host/wire.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue::runner {

class Measured {
  public:
    void clear() { *this = {}; }

    void add(std::uint32_t channel, const float* values, std::uint32_t count) {
        // One channel more than there may be is enough to be refused.
        if (++count_ > CANALOGUE_MOST_CHANNELS) return overflow();
        const bool ours = values && count <= kMostValues;
        written_.put(ours ? channel : kUnknownChannel).put(ours ? count : 0u);
        for (std::uint32_t i = 0; ours && i < count; ++i) written_.put(values[i]);
    }

    // The count of channels; then of each its place, the count of values, the values.
    std::vector<std::uint8_t> take() {
        wire::Writer all;
        all.put(count_);
        auto body = all.take();
        const auto written = written_.take();
        body.insert(body.end(), written.begin(), written.end());
        clear();
        return body;
    }

  private:
    static constexpr std::uint32_t kUnknownChannel = ~0u;
    static constexpr std::uint32_t kMostValues = 200'000;  // more than an hour of the shortest steps

    void overflow() { count_ = CANALOGUE_MOST_CHANNELS + 1; }

    wire::Writer written_;
    std::uint32_t count_ = 0;
};

}  // namespace canalogue::runner
