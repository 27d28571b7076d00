// The frozen set: sessions whose truth and labels were fixed before anything was tuned on them.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "demo_media/labelled/make.hpp"

namespace canalogue::demo::labelled {

struct FrozenSession {
    std::uint64_t seed = 0;
    bool apart = false;  // deliberately unlike the others; never tune on it
    Fingerprint fingerprint;
    std::vector<std::string> made;
};
struct FrozenSet {
    double seconds = 20;  // of each session
    std::vector<FrozenSession> sessions;
};

// Errors: bad_media for a list that cannot be read.
Result<FrozenSet> read_frozen(const std::filesystem::path& list);
// Works out the fingerprints of seeds 1..40 and writes the list.
Result<void> freeze(const std::filesystem::path& list, double seconds, const Progress& progress);

}  // namespace canalogue::demo::labelled
