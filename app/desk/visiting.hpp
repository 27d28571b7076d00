// Other visits in the library, which a passage can be shown beside.
#pragma once

#include <set>

#include "app/core/audience.hpp"
#include "app/core/plan.hpp"
#include "app/desk/desk.hpp"
#include "export/picture_source.hpp"

namespace canalogue::desk {

// A visit as a person chooses from it: its recordings in session order, and its accepted events as moments.
struct Visit {
    struct Moment {
        std::string recording;
        RecordingTime at;
        Ear ear = Ear::right;
        std::string words;  // the kind's name
    };
    std::string session, title;  // of its kept plan; may be empty
    std::vector<Recording> recordings;
    std::vector<Moment> moments;
    std::string against;  // in a sentence, why no film could show it now; empty: it could
};

// All visits of the library, this session first. `unlocked`: the library's passphrase is there, so that a film can be
// compared with the names that are sealed for a visit. Looks for the files, but does not read them.
Result<std::vector<Visit>> visits(const Desk& desk, const std::string& session, bool unlocked);

// The other sessions that passages of a plan of this session are shown beside.
std::set<std::string> visits_of(const Plan& plan, const std::string& session);

// Their recordings for a film, each under its session's name ("s2/r1"), covered as that session's suspects ask for this
// audience. Refuses a session that the library does not have, or whose entries were changed outside the program.
Result<std::vector<film::SourceRecording>> visit_sources(Desk& desk, const Plan& plan, const std::string& session, Audience audience, const Progress& progress);

// Refuses a session whose entries are not what its journal made them: a cover that was damaged on disk would uncover in
// silence.
Result<void> nothing_astray(const Desk& desk, const std::string& session);

}  // namespace canalogue::desk
