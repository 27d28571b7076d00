// manifest.json: what an export holds and what was done to it. No dates, nothing that ties to the
// source: that tie stays in the library.
#pragma once

#include <filesystem>
#include <string>

#include "app/core/audience.hpp"
#include "app/core/progress.hpp"
#include "app/core/vocabulary.hpp"
#include "export/cover_report.hpp"
#include "export/loudness.hpp"

namespace canalogue::film {

struct ManifestInput {
    const Plan& plan;
    const Schedule& schedule;
    const Vocabulary& vocabulary;
    Audience audience;
    CoverReport covers;
    Loudness loudness;     // of the finished film
    bool has_sound = false;
    std::vector<std::pair<std::string, std::string>> spotters;  // required: id, version ("" = not available)
    std::vector<std::string> not_scanned_by;  // spotters that did not see all of the recordings
    int judged_harmless = 0;       // suspects of the session that a person uncovered
    int identifiers_compared = 0;  // known identifiers that the check looked for
};

// Lists and hashes every file that stands in the folder. Codes: DICOM PS3.15 Annex E options, CID 7050
// (published at second hand).
Result<std::string> manifest_json(const std::filesystem::path& folder, const ManifestInput& input);

// Every file of the folder is in its manifest as it is, and no other is there.
Result<bool> matches_manifest(const std::filesystem::path& folder, const Progress& progress);

}  // namespace canalogue::film
