// A clip's plan: an ordered list of cards and passages, as a JSON file that a person can edit and
// give back (schema: docs/plan.schema.json).
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "app/core/close_up.hpp"
#include "app/core/cover.hpp"
#include "app/core/ear.hpp"
#include "app/core/geometry.hpp"
#include "app/core/pointer.hpp"
#include "app/core/session.hpp"
#include "app/core/time.hpp"
#include "app/core/view.hpp"

namespace canalogue {

enum class CaptionStyle { beside, burnt };
enum class StripStyle { below, over, off };

// What the film is encoded for. web: good to look at, seeks quickly. master: to be kept and cut again, nothing
// visible lost. message: at most so many megabytes, in two passes over the picture.
enum class FilmTarget { web, master, message };
enum class FilmFormat { mp4, webm };  // H.264 and AAC, or VP9 and Opus

struct FilmSettings {
    Size size{1280, 720};        // one of kFilmSizes
    int frames_per_second = 25;  // constant
    CaptionStyle captions = CaptionStyle::beside;
    StripStyle strip = StripStyle::below;
    CoverLook covers = CoverLook::soft;
    bool original_sound = false;
    double loudness = -16.0;  // LUFS, integrated
    FilmTarget target = FilmTarget::web;
    double megabytes = 16;  // of a message: millions of bytes, sound included
    FilmFormat format = FilmFormat::mp4;
};

// Landscape, upright and square.
inline constexpr Size kFilmSizes[] = {{1280, 720}, {1920, 1080}, {720, 1280}, {1080, 1920}, {720, 720}, {1080, 1080}};

struct Hold {
    RecordingTime at;
    Nanos length = 0;
};

// Words over the picture while the film shows [from, until) of the recording (a hold counts as its instant).
struct Label {
    RecordingTime from, until;
    std::string text;
};

// A line of narration: its words, which captions show, and who says them: a recorded take of the session, or
// the draft voice.
struct NarrationLine {
    NarrationLine() = default;
    NarrationLine(std::string words, std::string recorded = "") : text(std::move(words)), take(std::move(recorded)) {}
    NarrationLine(const char* words) : text(words) {}
    bool operator==(const NarrationLine&) const = default;

    std::string text;
    std::string take;  // empty: the draft voice
};

// Where in the canal: a clock face over the picture, the ear named on it.
struct Place {
    RecordingTime from, until;
    int clock = 12;     // the hour on the picture as the film shows the untouched recording
    std::string depth;  // outer, middle or deep; empty: not said
};

// A second picture beside the passage's own, of the same session or of another visit of the same case: at the
// instants that meet, both are shown at once; both go at one pace.
struct Beside {
    std::string session;  // empty: this one
    std::string recording;
    Ear ear = Ear::right;
    RecordingTime meets;  // an instant of that recording ...
    RecordingTime with;   // ... shown when the passage shows this instant of its own
    std::string words, other_words;  // under the passage's picture ("Before") and under the other ("After")
    bool fill = false;    // both as large as their room, and what is too wide or too high for it cut off at both ends
};

// The learner's page stops the film here and asks.
struct Question {
    RecordingTime at;
    std::string asks;
    std::vector<std::string> choices;  // of a question with choices, two at least
    int right = -1;                    // number of the right choice; -1: the learner marks a spot
    std::optional<ShareBox> spot;      // the right spot, in shares of the passage's whole upright picture
    std::string reveals;               // said when it is answered
};

struct Passage {
    std::string recording;
    RecordingSpan span;
    double pace = 1.0;  // 2 = twice as fast
    Nanos ramp = 0;     // how long, in the recording, the pace takes from 1 to its own at either end; 0: at once
    Ear ear = Ear::right;
    std::string chapter;  // begins a chapter of this name when not empty
    std::vector<Hold> holds;
    std::vector<Label> labels;
    std::vector<NarrationLine> narration;
    std::optional<CloseUp> close_up;  // none: the whole picture
    ViewChange view;                  // turned, mirrored, brightened, white balanced, steadied
    std::vector<Pointer> pointers;
    std::vector<Place> places;
    std::optional<Beside> beside;
    std::vector<RecordingSpan> heard;  // where the original sound is let through (all of it: film.original_sound)
    std::vector<Question> questions;
};

struct Card {
    enum class Role { title, note, warning, end } role = Role::note;
    std::string title;
    std::vector<std::string> lines;
    Nanos length = 0;
    std::string chapter;
    std::vector<NarrationLine> narration;
};

using PlanItem = std::variant<Card, Passage>;

const std::vector<NarrationLine>& narration_of(const PlanItem& item);

// What a teaching case says about itself, on its page and for whoever publishes it.
struct About {
    std::string made_by, made_for;
    std::vector<std::string> aims;
    std::string case_text;  // the case, without identifiers
    std::string outcome;
    std::string consent, conflicts;  // statements
    std::vector<std::string> credits, tags;
};

struct Plan {
    std::string session;  // the one it was made for; empty: not said. Shown in no export
    std::string title;
    std::string language = "en-GB";  // of narration and captions, BCP 47
    About about;
    FilmSettings film;
    std::vector<PlanItem> items;
};

inline constexpr double kSlowest = 0.25, kFastest = 8.0;

// Gives a passage another span: holds and labels that lie outside it go, a close-up keeps what fits.
void trim(Passage& passage, RecordingSpan span);

// Moves an item so that it stands before what is item `before` now (the number of items: at the end).
// Returns its new place. `item` must be there.
std::size_t move_item(Plan& plan, std::size_t item, std::size_t before);

std::string plan_to_json(const Plan& plan);
// Refuses, naming the item, what does not follow the schema or makes no sense.
Result<Plan> plan_from_json(const std::string& text);

// All that a person wrote into the plan and that the film will say or show, with its place in words
// ("the narration of item 3"). The lines of one narration are one text: words may run on from line to line.
struct PlanText {
    std::string where, text;
};
std::vector<PlanText> texts_of(const Plan& plan);

// Refuses, naming the item, a plan that these recordings of the session cannot serve: one that is not
// there, a span beyond what belongs to the session, a side that is not the one shown.
Result<void> plan_fits(const Plan& plan, const std::vector<Recording>& recordings);

}  // namespace canalogue
