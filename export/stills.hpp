// Stills: for each event the sharpest covered picture near it, with its side and words.
#pragma once

#include <filesystem>
#include <vector>

#include "app/core/progress.hpp"
#include "export/composer.hpp"
#include "export/passage_cache.hpp"

namespace canalogue::film {

struct StillWanted {
    std::string name;  // file name without ending
    std::string recording;
    RecordingTime at;
    Ear ear = Ear::right;
    std::string words;
};

// Where stills are kept from one render to the next; `keys`: of each still, empty for one that is not to be kept.
struct KeptStills {
    const PassageCache* cache = nullptr;
    std::vector<std::string> keys;
};

// Sharpness is measured on covered pictures only: what lies under a cover cannot choose the still.
Result<void> write_stills(const std::filesystem::path& folder, const std::vector<StillWanted>& wanted, const std::vector<SourceRecording>& sources,
                          Composer& composer, const KeptStills& kept, const Progress& progress);

// The picture with the most fine detail within half a second of `at`, of the same side and not wholly
// covered.
Result<CoveredPicture> sharpest_near(PictureSource& source, const Recording& recording, RecordingTime at);

// Mean squared Laplacian of the luma: larger is sharper.
double sharpness(const AVFrame& frame);

}  // namespace canalogue::film
