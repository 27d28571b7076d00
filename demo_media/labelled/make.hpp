// Makes one labelled session: a recording, what is in it (truth.json) and which pixels are what (labels.mkv).
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"

namespace canalogue::demo::labelled {

struct Asked {
    std::uint64_t seed = 1;
    double seconds = 20;  // 1..600
    bool small = false;   // at most 320x180, for tests
};

// SHA-256, lower case hexadecimal: of the bytes of truth.json, and of all label frames one after another.
struct Fingerprint {
    std::string truth, labels;
    bool operator==(const Fingerprint&) const = default;
};

struct MadeSession {
    std::filesystem::path recording, truth, labels;
    Fingerprint fingerprint;
};

// Into `folder`, made if missing; files appear together when all are complete. The same seed gives the
// same truth and labels on one machine; without the photographs and recorded voices of some Debian packages
// `photograph`, `real` and the times of stand-in voices differ. Uses three threads. Errors: wrong_use for
// a length out of range, machine for a folder that cannot be written or a missing encoder or voice.
Result<MadeSession> make_labelled(const std::filesystem::path& folder, const Asked& asked, const Progress& progress);

// Only what would be written about the session: quick, since nothing is painted. No files.
Result<Fingerprint> fingerprint_of(const Asked& asked, const Progress& progress);

}  // namespace canalogue::demo::labelled
