// A sentence spoken by the synthetic voice, with the time of each word.
#pragma once

#include <string>
#include <vector>

#include "app/core/result.hpp"

namespace canalogue::demo {

struct SpokenWord {
    std::string words;
    double start = 0, end = 0;  // seconds from the first sample
};

struct Spoken {
    std::vector<float> samples;  // mono, -1..1
    int rate = 0;                // samples per second
    std::vector<SpokenWord> words;
};

// English only. The voice library is one per process: calls wait for each other, and nothing else may
// be using that library meanwhile. Errors: machine when the voice or its data is missing.
Result<Spoken> speak(const std::string& sentence);

}  // namespace canalogue::demo
