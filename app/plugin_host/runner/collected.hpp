// What the plugin proposes during calls, written down for the program. Bounded: past the limits of
// the plugin header it writes just enough for the program to see that they were passed.
#pragma once

#include <cstring>
#include <string_view>

#include "app/plugin_host/wire.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue::runner {

class Collected {
  public:
    void clear() { *this = {}; }

    void add(const canalogue_proposal* p) {
        ++count_;
        if (count_ > CANALOGUE_MOST_PROPOSALS || bytes_ > wire::kLongestMessage / 2) return overflow();
        const bool ours = p && p->size >= sizeof(canalogue_proposal) && p->version > 0;
        if (!ours) return put(kUnknownKind, {});
        put(p->kind, *p);
    }

    std::vector<std::uint8_t> take() {
        auto written = written_.take();
        wire::Writer all;
        all.put(count_);
        auto body = all.take();
        body.insert(body.end(), written.begin(), written.end());
        clear();
        return body;
    }

  private:
    static constexpr std::uint32_t kUnknownKind = ~0u;

    void overflow() { count_ = CANALOGUE_MOST_PROPOSALS + 1; }

    // One byte more than allowed is enough to be refused.
    static std::string_view bounded(const char* text, std::size_t most) {
        return text ? std::string_view(text, ::strnlen(text, most + 1)) : std::string_view{};
    }

    void put(std::uint32_t kind, const canalogue_proposal& p) {
        const bool sound = p.track_count <= CANALOGUE_MOST_TRACK_POINTS && (p.track || p.track_count == 0);
        const std::uint32_t points = sound ? p.track_count : 0;
        written_.put(kind).put(p.sureness).put(p.start_ns).put(p.end_ns);
        written_.put(sound ? points : CANALOGUE_MOST_TRACK_POINTS + 1);
        for (std::uint32_t i = 0; i < points; ++i) {
            const auto& at = p.track[i];
            written_.put(at.time_ns).put(at.x).put(at.y).put(at.w).put(at.h);
        }
        const auto field = bounded(p.field, CANALOGUE_MOST_FIELD_BYTES);
        const auto words = bounded(p.words, CANALOGUE_MOST_WORDS_BYTES);
        written_.put(field).put(words);
        bytes_ += 64 + points * sizeof(canalogue_track_point) + field.size() + words.size();
    }

    wire::Writer written_;
    std::uint32_t count_ = 0;
    std::size_t bytes_ = 0;
};

}  // namespace canalogue::runner
