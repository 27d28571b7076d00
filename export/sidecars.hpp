// What stands beside a film, and beside a session: captions, chapters and events in open formats.
#pragma once

#include <string>
#include <vector>

#include "app/core/session.hpp"
#include "app/core/vocabulary.hpp"
#include "export/captions.hpp"
#include "export/schedule.hpp"

namespace canalogue::film {

// An event with its place in the thing it is told of (a film or a session).
struct TimedEvent {
    const Event* event = nullptr;
    const EventKind* kind = nullptr;
    Nanos start = 0, end = 0;  // end > start
};

// WebVTT (W3C): captions, chapters, and one JSON object per cue for events.
std::string captions_vtt(const std::vector<Cue>& cues);
std::string chapters_vtt(const std::vector<Chapter>& chapters, Nanos length);
std::string events_vtt(const std::vector<TimedEvent>& events);

// W3C Web Annotations with Media Fragment selectors on `target` (a relative name). Without dates,
// authors, notes and free text.
std::string events_jsonld(const std::vector<TimedEvent>& events, const Vocabulary& vocabulary, const std::string& target, const std::string& language);

// RFC 4180: start and end in seconds, ear, kind, name, clock, depth, then the words.
std::string events_csv(const std::vector<TimedEvent>& events);

// "12.4" from nanoseconds: at most three decimals, no trailing zeros (Media Fragments, npt seconds).
std::string npt(Nanos t);

}  // namespace canalogue::film
