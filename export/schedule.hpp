// When each frame of the film shows what: the plan laid out on the film's constant frame rate, with
// the narration fitted (the picture slows or holds; speech is never cut).
#pragma once

#include <string>
#include <variant>
#include <vector>

#include "app/core/plan.hpp"
#include "app/core/session.hpp"

namespace canalogue::film {

// How long each narration line of each plan item takes to say, in the order of the plan.
using NarrationLengths = std::vector<std::vector<Nanos>>;

// Frames [first, first + count) of the film show plan item `item`. In a passage, the n-th of them (from 0) shows the
// recording at `from` + n * `step` + n * n / 2 * `gain`; both are 0 while the picture is held.
struct Piece {
    std::size_t item = 0;
    long first = 0, count = 0;
    RecordingTime from;
    double step = 0;  // nanoseconds of recording for the first film frame
    bool held = false;
    double gain = 0;  // by how much the step grows with each frame: the pace ramps up or down

    RecordingTime source(long frame) const {
        const auto n = static_cast<double>(frame - first);
        return {from.ns + static_cast<Nanos>(n * step + n * n / 2 * gain)};
    }
    // How much of the recording this frame stands for.
    Nanos step_at(long frame) const { return source(frame + 1) - source(frame); }
};

struct SpokenLine {
    std::size_t item = 0, line = 0;  // plan.items[item].narration[line]
    FilmTime start;
    Nanos length = 0;
};

struct FilmEvent {
    std::size_t event = 0;  // number in the list given to schedule()
    FilmSpan span;          // an instant has a short one
};

struct Chapter {
    FilmTime start;
    std::string title;
};

struct Schedule {
    int frames_per_second = 25;
    long frames = 0;
    std::vector<Piece> pieces;  // in order, without gaps
    std::vector<SpokenLine> lines;
    std::vector<FilmEvent> events;
    std::vector<Chapter> chapters;
    std::vector<double> paces;  // of each item, after fitting (cards: 1)

    Nanos length() const { return time_of(frames).ns; }
    FilmTime time_of(long frame) const { return {frame * kSecond / frames_per_second}; }
    // The first frame that is shown at t or later.
    long frame_from(FilmTime t) const { return static_cast<long>((t.ns * frames_per_second + kSecond - 1) / kSecond); }
    const Piece& piece_at(long frame) const;
};

inline constexpr Nanos kBeforeSpeech = 400 * kMillisecond;   // from the start of an item to its first line
inline constexpr Nanos kBetweenLines = 450 * kMillisecond;
inline constexpr Nanos kAfterSpeech = 500 * kMillisecond;
inline constexpr double kSlowestToFit = 0.5;                  // then the picture holds

inline constexpr Nanos kLongestStand = 4 * kSecond;           // longer looks like a fault: the voice should be shorter

// `events` are the accepted events of the session.
Schedule schedule(const Plan& plan, const std::vector<Event>& events, const NarrationLengths& narration);

// How an item's narration fits what it shows.
struct VoiceFit {
    Nanos needed = 0;     // by the voice, with the rests about its lines; 0: nothing is said
    double pace = 1;      // of the picture
    bool slowed = false;  // below what the plan asks for
    Nanos stands = 0;     // how long the last picture (or the card, beyond its own length) stands for the voice alone
    Nanos too_long = 0;   // by how much the voice should be shorter, where the picture would stand too long
};
VoiceFit voice_fit(const Plan& plan, const Schedule& schedule, const NarrationLengths& narration, std::size_t item);

}  // namespace canalogue::film
