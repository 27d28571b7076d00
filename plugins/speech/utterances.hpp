// From likelihoods to spans in which somebody speaks.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace canalogue::speech {

struct Utterance {
    std::int64_t start_ns = 0, end_ns = 0;  // half open
    float likeliest = 0;                    // of its steps
    bool operator==(const Utterance&) const = default;
};

// steps: one likelihood for each step_ns from start_ns on. Spans lie inside [start_ns, end_ns). They are
// widened, because words begin and end softly, and those that nearly touch are one.
std::vector<Utterance> utterances(std::span<const float> steps, std::int64_t step_ns, std::int64_t start_ns, std::int64_t end_ns);

}  // namespace canalogue::speech
