// Makes the film file: one thread decodes, covers and composes, the caller's thread encodes.
#pragma once

#include <filesystem>

#include "app/core/progress.hpp"
#include "export/composer.hpp"
#include "export/sound.hpp"

namespace canalogue::film {

struct FilmInput {
    const Plan& plan;
    const Schedule& schedule;
    const std::vector<SourceRecording>& sources;
    Composer& composer;
    Sound& sound;
};

Result<void> write_film(const std::filesystem::path& file, const FilmInput& input, const Progress& progress);

}  // namespace canalogue::film
