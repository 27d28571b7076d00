#include "plugins/speech/utterances.hpp"

#include <algorithm>

namespace canalogue::speech {

namespace {

constexpr float kVoice = .3f;                   // likelihood: low, for a missed word costs more than a hushed noise
constexpr std::int64_t kPad = 300'000'000;      // before and after
constexpr std::int64_t kPause = 500'000'000;    // shorter ones belong to what is said
constexpr std::int64_t kEdge = 700'000'000;     // from a span's end: what begins there may have begun before

}  // namespace

std::vector<Utterance> utterances(std::span<const float> steps, std::int64_t step_ns, std::int64_t start_ns, std::int64_t end_ns) {
    std::vector<Utterance> out;
    for (std::size_t i = 0; i < steps.size(); ++i) {
        if (!(steps[i] >= kVoice)) continue;
        const std::int64_t at = start_ns + static_cast<std::int64_t>(i) * step_ns, until = std::min(end_ns, at + step_ns);
        if (!out.empty() && at - out.back().end_ns < kPause) {
            out.back().end_ns = until;
            out.back().likeliest = std::max(out.back().likeliest, steps[i]);
        } else if (at < until) {
            out.push_back({at, until, steps[i]});
        }
    }
    for (auto& u : out) {
        u.start_ns = u.start_ns - start_ns < kEdge ? start_ns : u.start_ns - kPad;
        u.end_ns = end_ns - u.end_ns < kEdge ? end_ns : u.end_ns + kPad;
    }
    return out;
}

}  // namespace canalogue::speech
