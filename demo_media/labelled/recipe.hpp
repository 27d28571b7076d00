// What one labelled session is made of, chosen from its seed alone. Painter, sound, film and truth file
// all read the recipe, so that they cannot disagree.
#pragma once

#include <cstdint>
#include <map>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

namespace canalogue::demo::labelled {

struct Form {
    cv::Size size;  // upright pixels
    int rate = 25;  // frames per second, nominal
    bool interlaced = false, variable = false;
    bool turned = false;    // stored on its side, with a display matrix that brings it upright
    std::string container;  // mkv, mp4, mov, avi
    std::string video;      // name of an encoder of libavcodec
    std::string sound;      // likewise; empty: the file has no sound track
};

enum class Outline { round, cut_round, rectangle, octagon };

struct Scope {
    Outline outline = Outline::round;
    double across = 0.95;          // of the round picture, part of the frame's height
    cv::Point2d middle{0.5, 0.5};  // of the round picture, parts of the frame
    cv::Vec3f cast{1, 1, 1};       // blue, green, red
    float exposure = 1;
    float sharp = 0;  // -1 soft .. 1 sharpened hard
    float noise = 1;
    float vignette = 0;  // 0..1 towards left and right edge
    bool waves = false, droplets = false, bubbles = false, blood = false;
    bool left_story = false;
    double story_at = 0;  // seconds of the demo's story at the recording's begin
    cv::Vec3b surround{6, 5, 6};
};

enum class Ink { plain, outlined, shadowed, boxed };
enum class Move { still, fade, slide, scroll };
// Where items stack up: edges of the frame, the frame's middle, or the edges on their side.
enum class Slot { top_left, top_right, bottom_left, bottom_right, top, bottom, left, right, middle };

struct TextItem {
    std::string what;   // name, birth date, record number, clock, hospital, serial, settings, menu
    std::string words;  // strftime pattern for the clock
    bool clock = false;
    std::string font;
    bool bold = false, turned = false;
    int height = 20;  // of the font, pixels of the recording
    cv::Vec3b colour{245, 245, 245}, under{10, 10, 10};  // under: outline, shadow, box
    Ink ink = Ink::plain;
    double opacity = 1;
    Move move = Move::still;
    Slot slot = Slot::top_left;
    double start = 0, end = 0;  // seconds shown, slides and fades included
    bool soft = false;          // as an analogue recorder smears it
};

enum class Scene { room, letter, screen, label, face, head_side, photograph, sign, hand };

struct Outing {
    double start = 0, end = 0;  // any part of the outside shows
    double fade = 0.2;          // cross-fade at both ends, at most 0.3 s
    double pull = 0.5;          // of the blurred pull-out, each end
    Scene scene = Scene::room;
    std::uint64_t seed = 0;
    bool rim = true;  // seen through the scope's outline; otherwise the whole frame
};

struct Speech {
    double at = 0;
    std::string words;
    std::string voice;  // of espeak-ng
    int pace = 160;     // words a minute
    bool name = false;
    int clip = -1;  // number of a recorded clip (found_files.hpp); words are spoken if it is not there
    double snr_db = 10;
};

struct Noise {
    double suction = 0, hum = 0;  // loudness, root mean square
    std::vector<std::pair<double, double>> suction_on;
};

struct Recipe {
    std::uint64_t seed = 0;
    bool apart = false;
    double seconds = 20;
    Form form;
    Scope scope;
    std::vector<TextItem> text;
    std::vector<Outing> outside;
    std::vector<Speech> speech;
    bool silent = false;
    Noise noise;
    std::map<std::string, std::string> metadata;  // container fields
    std::string handler, chapter, attachment;     // empty: none
    std::int64_t starts_at = 0;                   // seconds since 1970 at the first frame
    std::vector<double> times;                    // of the frames, seconds, rising
    std::vector<std::string> made;                // kind words, sorted, once each
};

// seconds: at least 1. small: a frame of at most 320x180, for tests.
Recipe recipe_for(std::uint64_t seed, double seconds, bool small = false);
// Every kind word that some session carries.
std::vector<std::string> all_kinds();

}  // namespace canalogue::demo::labelled
