// From suspects to covers: which pixels and samples never leave the program. The geometry says
// nothing about what is hidden: it is widened by a margin and snapped to a coarse grid in place, size
// and time, so that it does not tell how long a name is or when exactly a word was said.
#pragma once

#include <string>
#include <vector>

#include "app/core/session.hpp"
#include "app/core/suspect.hpp"

namespace canalogue {

// Boxes are of stored pixels, lie inside the picture, and their edges are multiples of the block.
struct Cover {
    RecordingSpan span;
    bool whole = false;  // the whole picture; `box` is then the whole picture too
    StoredBox box;
    auto operator<=>(const Cover&) const = default;
};

// How covers look: filled from what surrounds them and softened, or one grey. Either says nothing of what is below.
enum class CoverLook { soft, plain };

struct Covers {
    std::vector<Cover> picture;          // by time; may overlap
    std::vector<RecordingSpan> hushed;   // united

    // The boxes to cover in a frame that is on screen during `shown` (they may overlap); one box of the
    // whole picture when a whole cover is there. A frame that stays long is covered from its start.
    std::vector<StoredBox> boxes_during(RecordingSpan shown, Size stored) const;
    bool whole_during(RecordingSpan shown) const;
    // Nothing of the picture is left to see, be it by one cover or by several together.
    bool nothing_left_during(RecordingSpan shown, Size stored) const;
};

// Which spotters must have finished a span before it may be shown to an audience that must not
// recognise anybody.
const std::vector<std::string>& required_spotters();

// A span nobody and nothing has looked at.
struct Unscanned {
    std::string spotter;
    RecordingSpan span;
};
// `versions`: the current version of each required spotter; one that is not installed has none and
// has finished nothing (but a person may have watched instead).
std::vector<Unscanned> unscanned(const Recording& recording, const std::vector<Scanned>& scanned,
                                 const std::map<std::string, std::string>& versions);

// Covers for one recording: every suspect not judged harmless, and every unscanned span (whole view,
// sound hushed). Suspects of other recordings are ignored.
Covers covers_for(const Recording& recording, const std::vector<Suspect>& suspects,
                  const std::vector<Unscanned>& unscanned);

// The ids of those open suspects of the recording that a decided cover hides already: they add nothing, and
// nobody has to decide them for as long as it stands.
std::vector<std::string> hidden_by_decided(const Recording& recording, const std::vector<Suspect>& suspects);

// Faces are not seen inside an ear: where a spotter found one and is sure enough of it, the whole picture is to be
// covered, for as long as the face is there and no suspect of the whole picture holds that time. `found`: the faces
// to go by; `all`: every suspect.
struct Forced {
    RecordingSpan span;
    std::string spotter;
    double sureness = 0;
};
std::vector<Forced> forced_outside(const Recording& recording, const std::vector<Suspect>& found, const std::vector<Suspect>& all);

// Pixels by which a box is widened: what source coding smears across its edge. 16 at 1080 lines,
// scaled with the height, at least 8, plus 4 lines above and below for interlaced pictures, whose
// 4:2:0 chroma reaches that far.
int smear_margin(Size stored);
// Covers lie on whole blocks of this many pixels: source coders work in 16-pixel blocks.
int cover_block(Size stored);

}  // namespace canalogue
