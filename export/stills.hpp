// Stills: for each event the sharpest covered picture near it, with its side and words.
#pragma once

#include <filesystem>
#include <vector>

#include "app/core/progress.hpp"
#include "export/composer.hpp"

namespace canalogue::film {

struct StillWanted {
    std::string name;  // file name without ending
    std::string recording;
    RecordingTime at;
    Ear ear = Ear::right;
    std::string words;
};

// Sharpness is measured on covered pictures only: what lies under a cover cannot choose the still.
Result<void> write_stills(const std::filesystem::path& folder, const std::vector<StillWanted>& wanted, const std::vector<SourceRecording>& sources,
                          Composer& composer, const Progress& progress);

// Mean squared Laplacian of the luma: larger is sharper.
// The picture with the most fine detail within half a second of `at`, of the same side and not wholly
// covered.
Result<CoveredPicture> sharpest_near(PictureSource& source, const Recording& recording, RecordingTime at);

double sharpness(const AVFrame& frame);

}  // namespace canalogue::film
