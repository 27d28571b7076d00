// What an encoded passage is kept by: a hash over all that decides its packets. Whatever a frame shows must come in
// here; the test that changes one thing after the other holds the key to the pictures.
#pragma once

#include <string>
#include <vector>

#include "app/core/audience.hpp"
#include "export/captions.hpp"
#include "export/encoder.hpp"
#include "export/picture_source.hpp"
#include "export/stills.hpp"
#include "export/strip.hpp"

namespace canalogue::film {

struct KeyInput {
    const Plan& plan;
    const Schedule& schedule;
    const std::vector<SourceRecording>& sources;
    const std::vector<Event>& events;
    const Vocabulary& vocabulary;
    const std::vector<Cue>& cues;
    Audience audience;
    const char* preset = kPreset;
};

// Of each item of the plan, hexadecimal; empty for one whose recording's hash is not known yet.
std::vector<std::string> passage_keys(const KeyInput& input);
// Of each still, likewise.
std::vector<std::string> still_keys(const KeyInput& input, const std::vector<StillWanted>& wanted);

}  // namespace canalogue::film
