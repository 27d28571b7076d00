// Turns a helper's answer into proposals and trusts none of it: whatever a sound spotter could not
// have meant is called nonsense, and then nothing of the answer is used.
#pragma once

#include <string>
#include <vector>

#include "app/core/suspect.hpp"
#include "app/plugin_host/wire.hpp"

namespace canalogue {

struct CheckedProposals {
    std::vector<Proposal> proposals;
    std::string nonsense;  // what was wrong, as "a box outside the picture"; empty when all is well
};

// picture: the upright picture, which boxes must lie in (they are widened to whole pixels);
// whole: the recording, which metadata is about and which every span must lie in;
// offered: the span just scanned, which each proposal must meet; empty for fields.
CheckedProposals check_proposals(const std::vector<std::uint8_t>& body, Size picture, RecordingSpan whole,
                                 RecordingSpan offered);

}  // namespace canalogue
