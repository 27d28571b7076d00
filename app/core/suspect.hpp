// A suspect: something that might identify a person, found by a spotter or pointed out by a person,
// and what was decided about it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"
#include "app/core/result.hpp"
#include "app/core/time.hpp"

namespace canalogue {

enum class SuspectKind { text, face, outside, speech, metadata, words };

// Where the suspect is at an instant; between two points the box is taken as both of them together.
struct TrackPoint {
    RecordingTime t;
    UprightBox box;
    bool operator==(const TrackPoint&) const = default;
};

// What a spotter reports, before the library gives it an id.
struct Proposal {
    SuspectKind kind = SuspectKind::text;
    RecordingSpan span;             // for metadata: the whole recording
    std::vector<TrackPoint> track;  // empty: the whole picture (outside) or no picture (speech, metadata)
    double sureness = 0;            // 0..1
    std::string field;              // metadata: which field ("container: title"), never its value
    std::string words;              // what was read or heard: identifying; kept only sealed
};

// Suspect::spotter of what the check of a finished film found: somewhere in the whole picture, or in the sound.
inline constexpr const char* kSpottedInFilm = "check of a film";

enum class Verdict { open, cover, harmless };

struct Decision {
    Verdict verdict = Verdict::open;
    std::string reason;  // required for harmless
    std::string by;      // the reviewer's name
};

struct Suspect {
    std::string id;         // unique in its session, e.g. "x12"
    std::string session;
    std::string recording;  // the recording's id
    SuspectKind kind = SuspectKind::text;
    RecordingSpan span;
    std::vector<TrackPoint> track;
    double sureness = 0;
    std::string spotter;    // plugin id and version, "by hand", or kSpottedInFilm
    std::string field;
    Decision decision;

    bool hides_picture() const;  // asks for pixels to be covered
    bool hides_sound() const;    // asks for samples to be hushed
};

std::string_view name_of(SuspectKind kind);
Result<SuspectKind> suspect_kind_named(std::string_view name);
std::string_view name_of(Verdict verdict);

}  // namespace canalogue
