// From an instant of a film back to what it was made of: for what the check of the finished film found.
#pragma once

#include <string>
#include <vector>

#include "app/core/suspect.hpp"
#include "export/check.hpp"
#include "export/schedule.hpp"

namespace canalogue::film {

struct ShownInstant {
    std::string recording;  // as among a render's sources; of another visit, too
    RecordingTime at;
    double pace = 1;        // how fast it goes by; 0 while it is held
};

// Whose pictures the frame at t shows, the passage's own first; nobody's for a card and after the end.
std::vector<ShownInstant> shown_in_film(const Plan& plan, const Schedule& schedule, FilmTime t);

// A part of a recording in which the check found something that a person may judge.
struct FoundInRecording {
    std::string recording;
    SuspectKind kind = SuspectKind::outside;
    RecordingSpan span;     // wider than what was seen, by half a second of the film at each end
    double sureness = 0;
};

// How the film's frame at t was made; of a card: as it is.
MadeHow made_how(const Plan& plan, const Schedule& schedule, FilmTime t);

// `origin`: what a still shows, by its file's name. By recording, kind and time; what lies close together is one. Of what is heard only the passage's own recording is told.
std::vector<FoundInRecording> found_in_recordings(const CheckReport& report, const Plan& plan, const Schedule& schedule,
                                                  const std::function<std::optional<ShownInstant>(const std::string& still)>& origin = {});

// Whether `judged` (harmless, as one of FoundInRecording) hold everything of that kind that the film has at t.
bool judged_at(const std::vector<Suspect>& judged, SuspectKind kind, FilmTime t, const Plan& plan, const Schedule& schedule);

}  // namespace canalogue::film
