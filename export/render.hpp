// A render: from a plan to a whole, checked export folder.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "app/core/audience.hpp"
#include "app/core/plan.hpp"
#include "app/core/vocabulary.hpp"
#include "export/caption_files.hpp"
#include "export/check.hpp"
#include "export/loudness.hpp"
#include "export/passage_cache.hpp"
#include "export/picture_source.hpp"
#include "export/shown_in_film.hpp"
#include "export/voice.hpp"

namespace canalogue::film {

struct RenderJob {
    Plan plan;
    std::vector<SourceRecording> sources;  // in session order, covers as the audience requires
    std::vector<Event> events;             // accepted ones
    const Vocabulary* vocabulary = nullptr;
    Audience audience = Audience::learners;
    std::filesystem::path out;
    bool replace = false;                  // an earlier export at `out`
    std::filesystem::path held;            // where an export that fails its check is kept
    CheckOptions check;
    std::vector<std::pair<std::string, std::string>> spotters;  // required: id, version
    // A recorded take, ready to be heard, by its id and the words of its line; called on the rendering thread.
    std::function<Result<Spoken>(const NarrationLine& line)> take;
    std::optional<CachePlace> cache;       // for encoded passages; none: everything is encoded
    std::vector<CaptionTrack> captions_also;  // in other languages, timed for this film
    std::vector<Suspect> judged;              // found by the check of an earlier film of these sources, and judged harmless
    std::vector<std::string> not_scanned_by;  // spotters for which a person stood in somewhere, or that left something covered
    int judged_harmless = 0;               // suspects that a person uncovered: the manifest says how many
};

struct RenderReport {
    Nanos length = 0;
    long frames = 0;
    int stills = 0;
    Loudness loudness;
    CheckReport check;
    std::filesystem::path folder;  // where the export is: at `out`, or held
    std::string manifest_hash;     // SHA-256 of manifest.json
    bool held = false;
    std::vector<FoundInRecording> found;  // what the check of a held export found in its recordings
};

// Refuses, naming the place, words with signs that no font of this machine has.
Result<void> words_can_be_drawn(const Plan& plan);

// Cancelled: nothing is left behind. A failed check is no Failure: the report says where it is held.
Result<RenderReport> render(const RenderJob& job, const Progress& progress);

}  // namespace canalogue::film
