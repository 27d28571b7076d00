// The story: what happens when in each recording, as data the picture, the sound and the truth file
// all read, so that they cannot disagree. Seconds count from the recording's first frame.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace canalogue::demo {

enum class Ear { right, left };
enum class Tool { none, suction, forceps };

struct Stretch {
    double start = 0, end = 0;  // half open
    bool holds(double t) const { return start <= t && t < end; }
};

struct Happening {
    std::string kind;  // a kind of the truth file, e.g. "piece-removed"
    double start = 0;
    double end = 0;  // equal to start for an instant
    std::vector<std::pair<std::string, std::string>> attributes;
};

// A value over time: eased between keys, held before the first and after the last.
class Curve {
public:
    Curve() = default;
    Curve(std::vector<std::pair<double, double>> keys, double scale);
    double at(double t) const;

private:
    std::vector<std::pair<double, double>> keys_;
};

// One turn of a tool on its object: it arrives, holds, and takes the object out of the picture.
struct Pull {
    int piece = 0;  // 1..pieces of the wax plug; 0 for the cotton tip
    double arrive = 0, grip = 0, gone = 0, back = 0;
};

struct Script {
    Ear ear = Ear::right;
    double seconds = 0;
    double tempo = 1;  // seconds of this recording per second of the story as written
    int pieces = 0;    // of wax; 0 when there is no plug
    bool cotton = false, fluid = false;
    Tool tool = Tool::none;
    std::vector<Happening> happenings;
    std::vector<Stretch> outside;  // any part of the room shows; the rest is inside
    std::vector<Stretch> smear, tool_in, suction_on, wiping;
    std::vector<Pull> pulls;
    Curve room;            // 1 the room fills the view, 0 the ear does
    Curve depth;           // mm of the lens past the canal's opening
    Curve veil;            // 0..1 of the smear on the lens
    Curve reach;           // 0 the tool is out of the picture, 1 its tip is at its object
    std::string sentence;  // spoken near the start
    double sentence_at = 0;
    bool drops_frames = false;

    std::vector<Stretch> inside() const;
};

Script right_ear(double seconds);
Script left_ear(double seconds);

// What the picture maker must know of one instant.
struct Moment {
    double t = 0;
    float room = 0, depth = 0, veil = 0, reach = 0, tissue = 0;
    bool tool_shown = false;
    int aim = -1;            // the pull whose object the tip is near; -1 none
    bool held = false;       // the object moves with the tip
    std::vector<bool> gone;  // for each pull
};
Moment moment_at(const Script& script, double t);

}  // namespace canalogue::demo
