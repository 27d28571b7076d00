// Makes the film file: one thread decodes, covers and composes, the caller's thread encodes. Each item of the plan is
// encoded by itself and begins with a keyframe, so that a passage which was encoded before can be taken from the cache
// and the film is the same, byte for byte, as one made from nothing. A message is encoded as a whole, in two passes
// when one does not fit.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/core/progress.hpp"
#include "export/composer.hpp"
#include "export/encoder.hpp"
#include "export/passage_cache.hpp"
#include "export/sound.hpp"

namespace canalogue::film {

// What the system calls the thread that decodes, covers and composes: profilers and the benchmark tell it by this.
inline constexpr const char* kPicturesThread = "pictures";

struct FilmInput {
    const Plan& plan;
    const Schedule& schedule;
    const std::vector<SourceRecording>& sources;
    Composer& composer;
    Sound& sound;
    const PassageCache* cache = nullptr;  // none: everything is encoded
    std::vector<std::string> keys{};      // of each item of the plan, for the cache; empty: not to be kept
    const char* preset = kPreset;
};

// Frames [first, first + count) of the film, made by one encoder.
struct Stretch {
    long first = 0, count = 0;
    std::string key;  // empty: not kept
};

// One for each item of the plan, in order.
std::vector<Stretch> stretches_of(const Schedule& schedule, const std::vector<std::string>& keys);

Result<void> write_film(const std::filesystem::path& file, const FilmInput& input, const Progress& progress);

}  // namespace canalogue::film
