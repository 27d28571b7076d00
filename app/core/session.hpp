// A session (one visit of one patient), its recordings, its events: plain values, and how they are
// written as JSON for the library. Members under "private" in that JSON may identify a person and
// are sealed by the library before they are stored.
#pragma once

#include <cstdint>
#include <map>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "app/core/ear.hpp"
#include "app/core/geometry.hpp"
#include "app/core/suspect.hpp"
#include "app/core/time.hpp"

namespace canalogue {

struct Session {
    std::string id;            // what the person calls it, e.g. "s1"; shown in no export
    std::string vocabulary;    // plugin id of the kinds it uses
    std::string confirmed_by;  // whoever confirmed the record; empty while it is a draft
    std::string confirmed_at;  // UTC, RFC 3339
    std::int64_t confirmed_row = 0;  // the journal row of the confirmation: later changes are shown
};

struct EarSpan {
    RecordingSpan span;
    Ear ear = Ear::right;
    bool operator==(const EarSpan&) const = default;
};

// What a person says of a span: the scope is in an ear there, or it is not.
struct ViewMark {
    RecordingSpan span;
    bool inside = true;
    bool operator==(const ViewMark&) const = default;
};

struct Recording {
    std::string id;        // in its session: "r1"
    std::string hash;      // SHA-256; empty while still being read: provisional, nothing renders
    std::string path;      // where it was last seen (private)
    SessionTime offset;    // of its time zero in the session
    RecordingSpan only;    // the span that belongs to this session; the rest is unreachable from it
    std::vector<EarSpan> ears;
    Size stored;
    Rotation rotation = Rotation::none;
    double frames_per_second = 0;
    bool interlaced = false;
    bool has_sound = false;
    Nanos zero = 0;        // container time of the first presented frame
    Nanos lost = 0;        // declared but unreadable
    std::vector<ViewMark> view_marks;  // by which a person sets right what passes for inside in this recording

    std::optional<Ear> ear_at(RecordingTime t) const;
    SessionTime session_time(RecordingTime t) const { return {offset.ns + t.ns}; }
    RecordingTime recording_time(SessionTime t) const { return {t.ns - offset.ns}; }
    SessionSpan session_span() const { return {session_time(only.start), session_time(only.end)}; }
};

enum class Origin { person, suggestion };

struct Event {
    std::string id;         // in its session: "e1"
    std::string kind;       // id in the vocabulary
    Ear ear = Ear::right;
    std::string recording;  // times below are this recording's, so that events move with it
    RecordingTime at;
    std::optional<RecordingTime> until;  // of a span kind
    std::map<std::string, std::string> attributes;  // some are free text (private)
    std::string note;       // free text (private)
    std::string author;
    Origin origin = Origin::person;  // a suggestion counts for nothing until a person accepts it
};

// A span that a spotter finished, at its version; or that a person watched instead.
struct Scanned {
    std::string recording;
    std::string spotter;   // plugin id
    std::string version;   // plugin version; "watched" when a person stands in for it
    RecordingSpan span;
    std::string by, reason;  // of a person
};

// A suggestion that a person did not want: it is not made again.
struct Dismissed {
    std::string id;  // the suggestion's own
    std::string kind, recording;
    RecordingTime at;
};

// A recorded narration line. Its sound lies sealed in the library's takes/.
struct Take {
    std::string id;      // "t1"
    std::string says;    // the words, for captions
    Nanos length = 0;    // silence at its ends taken off
};

void to_json(nlohmann::json& j, const Session& v);
void from_json(const nlohmann::json& j, Session& v);
void to_json(nlohmann::json& j, const Recording& v);
void from_json(const nlohmann::json& j, Recording& v);
void to_json(nlohmann::json& j, const Event& v);
void from_json(const nlohmann::json& j, Event& v);
void to_json(nlohmann::json& j, const Suspect& v);
void from_json(const nlohmann::json& j, Suspect& v);
void to_json(nlohmann::json& j, const Scanned& v);
void from_json(const nlohmann::json& j, Scanned& v);
void to_json(nlohmann::json& j, const Dismissed& v);
void from_json(const nlohmann::json& j, Dismissed& v);
void to_json(nlohmann::json& j, const Take& v);
void from_json(const nlohmann::json& j, Take& v);

// The recording that shows session time t: the one that holds it; nullptr in a gap. Where two
// overlap, the later one in order.
const Recording* recording_at(const std::vector<Recording>& recordings, SessionTime t);

// By offset, then by id.
void order_in_session_time(std::vector<Recording>& recordings);

// Replaces the side inside `span` (splitting what was there) and leaves the rest.
std::vector<EarSpan> with_side(std::vector<EarSpan> ears, RecordingSpan span, Ear ear);

}  // namespace canalogue
