// Bringing recordings into a session. The files are only read.
#pragma once

#include <functional>

#include "app/desk/desk.hpp"
#include "app/media/facts.hpp"

namespace canalogue::desk {

struct ImportWish {
    std::string session;
    std::string vocabulary = "ear_care";
    std::vector<std::filesystem::path> files;
    std::optional<Ear> ear;                 // of all the files; may be told later per span
    std::optional<SessionTime> at;          // of the first file; otherwise after what is there
    bool by_time_stamps = false;            // order by the containers' creation times, keeping gaps
    std::optional<RecordingTime> from, until;  // the span that belongs to this session
    bool adopt = false;                     // copy the files into the library
};

struct Imported {
    Recording recording;
    media::RecordingFacts facts;
    std::optional<std::string> seen_before;  // the session that holds the same content already
    std::vector<std::string> notes;          // sentences for the person
};

// For each file: probes and stores it as provisional, calls `shown` (facts at once, before anything
// slow), then hashes and indexes it. A file that is refused stops the import; those before it stay.
Result<std::vector<Imported>> import_recordings(Desk& desk, const ImportWish& wish, const std::function<void(const Imported&)>& shown,
                                                const Progress& progress);

// Finishes recordings whose hash is still missing (an import that was interrupted).
Result<int> finish_provisional(Desk& desk, const std::string& session, const Progress& progress);

// Moves a recording in session time (gaps and overlaps are kept as they come).
Result<void> move_recording(Desk& desk, const std::string& session, const std::string& recording, SessionTime offset);

// Tells a session where a recording lies now; refused when the file's content is another.
Result<void> find_again(Desk& desk, const std::string& session, const std::filesystem::path& file, const Progress& progress);

}  // namespace canalogue::desk
