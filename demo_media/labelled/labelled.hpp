// Makes labelled sessions: recordings of drawn scopes and rooms whose every identifying pixel and second is
// known, to measure spotters against. README.md beside this file tells the form of truth.json and labels.mkv.
// Uses the ffmpeg program to write files, and photographs of the system's packages where they are found.
#pragma once

#include <cstdint>
#include <filesystem>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"

namespace canalogue::demo::labelled {

struct MadeSession {
    std::filesystem::path recording, truth, labels;
};

struct Wish {
    std::uint64_t seed = 1;
    double seconds = 20;
    bool apart = false;       // scenes, fonts and layouts that the others do not have
    bool photographs = true;  // where they are found; without them only drawn scenes show
};

// Writes one session into `folder`, which is made and whose files are replaced. The same wish and packages
// give the same truth, labels and pictures. Errors: machine when ffmpeg or the folder cannot be used.
Result<MadeSession> make_labelled(const std::filesystem::path& folder, const Wish& wish, const Progress& progress);

}  // namespace canalogue::demo::labelled
