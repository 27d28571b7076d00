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
#include "app/core/session.hpp"
#include "app/core/time.hpp"

namespace canalogue {

enum class CaptionStyle { beside, burnt };
enum class StripStyle { below, over, off };

struct FilmSettings {
    Size size{1280, 720};
    int frames_per_second = 25;  // constant
    CaptionStyle captions = CaptionStyle::beside;
    StripStyle strip = StripStyle::below;
    CoverLook covers = CoverLook::soft;
    bool original_sound = false;
    double loudness = -16.0;  // LUFS, integrated
};

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

struct Passage {
    std::string recording;
    RecordingSpan span;
    double pace = 1.0;  // 2 = twice as fast
    Ear ear = Ear::right;
    std::string chapter;  // begins a chapter of this name when not empty
    std::vector<Hold> holds;
    std::vector<Label> labels;
    std::vector<NarrationLine> narration;
    std::optional<CloseUp> close_up;  // none: the whole picture
};

struct Card {
    enum class Role { title, note, end } role = Role::note;
    std::string title;
    std::vector<std::string> lines;
    Nanos length = 0;
    std::string chapter;
    std::vector<NarrationLine> narration;
};

using PlanItem = std::variant<Card, Passage>;

const std::vector<NarrationLine>& narration_of(const PlanItem& item);

struct Plan {
    std::string title;
    std::string language = "en-GB";  // of narration and captions, BCP 47
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
