#include "demo_media/labelled/recipe.hpp"

#include <algorithm>

#include "demo_media/labelled/recipe_parts.hpp"

namespace canalogue::demo::labelled {

namespace {

constexpr int kDeal = 40, kLike = 30;  // of every forty seeds the last ten are unlike the others

struct FormRow {
    int w, h, rate;
    const char *container, *video, *sound;
    bool interlaced = false, variable = false, turned = false;
};
// Dealt in turn; a recording's size, rate and container belong together as devices write them.
constexpr FormRow kForms[] = {
    {1280, 720, 25, "mp4", "libx264", "aac"},
    {720, 576, 25, "avi", "mpeg2video", "pcm_s16le", true},
    {1920, 1080, 30, "mov", "libx264", "pcm_s16le"},
    {854, 480, 30, "mkv", "libx264", "aac", false, true},
    {640, 480, 30, "avi", "mpeg4", "mp2"},
    {1280, 720, 50, "mkv", "libx264", "aac"},
    {720, 576, 25, "mkv", "libx264", "aac", true},
    {1280, 720, 30, "mp4", "libx264", "aac", false, true},
    {1280, 720, 60, "mov", "libx264", "aac"},
    {1920, 1080, 25, "mp4", "libx264", "aac"},
    {640, 480, 25, "avi", "mjpeg", "pcm_s16le"},
    {854, 480, 60, "mp4", "mpeg4", "aac"},
};

void choose_times(Recipe& r) {
    Chance chance(r.seed ^ 0x71E5);
    const double step = 1.0 / r.form.rate;
    if (!r.form.variable) {
        for (int i = 0; i < int(r.seconds * r.form.rate + 1e-6); ++i) r.times.push_back(i * step);
        return;
    }
    // Whole milliseconds, as recorders of this kind write: uneven steps, now and then a gap.
    for (double t = 0; t < r.seconds;) {
        r.times.push_back(t);
        const double wish = step * (odds(chance, 0.04) ? 2.6 : double(chance.between(0.7f, 1.4f)));
        t = std::round((t + wish) * 1000) / 1000;
    }
}

}  // namespace

void choose_form(Recipe& r, int turn, bool small) {
    const FormRow& row = kForms[turn % std::size(kForms)];
    Form& f = r.form;
    f.size = {row.w, row.h}, f.rate = row.rate;
    f.container = row.container, f.video = row.video, f.sound = row.sound;
    f.interlaced = row.interlaced, f.variable = row.variable;
    f.turned = turn == 33;  // seed 34, an MOV
    if (f.turned) f.size = {720, 1280}, f.rate = 30, f.container = "mov", f.video = "libx264", f.sound = "aac",
                  f.interlaced = false, f.variable = false;
    if (turn % 20 == 12) f.sound.clear();
    note(r, f.interlaced ? "576 lines interlaced" : std::to_string(f.turned ? 720 : f.size.height) + " lines");
    note(r, f.variable ? "variable rate" : std::to_string(f.rate) + " frames a second");
    note(r, f.container), note(r, f.video);
    if (f.turned) note(r, "stored on its side");
    if (f.sound.empty()) note(r, "no sound track");
    if (small) {
        const bool tall = f.size.height > f.size.width;
        f.size = tall ? cv::Size{180, 320} : cv::Size{320, f.interlaced ? 192 : 180};
    }
    choose_times(r);
}

namespace {

void choose_outline(Recipe& r, int turn, Chance& chance) {
    Scope& s = r.scope;
    switch (turn % 5) {
        case 0:
            s.across = double(chance.between(0.9f, 0.97f));
            note(r, "round with dark rim");
            break;
        case 1:
            s.outline = Outline::rectangle;
            note(r, "rectangular without rim");
            break;
        case 2:
            s.outline = Outline::cut_round, s.across = double(chance.between(1.1f, 1.35f));
            s.middle = {double(chance.between(0.42f, 0.58f)), double(chance.between(0.40f, 0.60f))};
            note(r, "rim partly out of frame");
            break;
        case 3:
            s.outline = Outline::rectangle, s.vignette = chance.between(0.6f, 0.9f);
            note(r, "side vignette");
            break;
        default:
            s.across = double(chance.between(0.75f, 0.88f)), s.middle.x = double(chance.between(0.36f, 0.62f));
            note(r, "round beside the middle");
    }
    if (r.apart && turn % 3 == 0) s.outline = Outline::octagon, s.across = 0.92, note(r, "eight-sided outline");
}

void choose_light(Recipe& r, int turn, Chance& chance) {
    Scope& s = r.scope;
    const float lean = chance.between(0.06f, 0.2f);
    if (turn % 4 == 1) s.cast = {1 - 1.4f * lean, 1 - 0.3f * lean, 1 + 0.5f * lean}, note(r, "brown cast");
    if (turn % 4 == 3) s.cast = {1 + 1.5f * lean, 1 + 0.4f * lean, 1 - 0.9f * lean}, note(r, "blue cast");
    if (r.apart && turn % 4 == 0) s.cast = {0.8f, 1.25f, 0.85f}, note(r, "green cast");
    if (turn % 7 == 4) s.exposure = chance.between(1.25f, 1.55f), note(r, "over-exposed");
    if (turn % 7 == 6) s.exposure = chance.between(0.45f, 0.6f), note(r, "dim");
    if (turn % 3 == 0) s.sharp = chance.between(0.5f, 1), note(r, "sharper");
    if (turn % 3 == 2) s.sharp = -chance.between(0.4f, 1), note(r, "softer");
    s.noise = chance.between(0.5f, 1.8f);
    const int dark = whole(chance, 0, 2);
    s.surround = dark == 0 ? cv::Vec3b{2, 2, 2} : dark == 1 ? cv::Vec3b{14, 10, 12} : cv::Vec3b{8, 7, 5};
}

}  // namespace

void choose_scope(Recipe& r, int turn) {
    Chance chance(r.seed ^ 0x5C09E);
    choose_outline(r, turn, chance);
    choose_light(r, turn, chance);
    Scope& s = r.scope;
    if (turn % 8 == 2) s.waves = true, note(r, "water, waves");
    if (turn % 8 == 5) s.droplets = true, note(r, "water, droplets");
    if (turn % 8 == 7) s.bubbles = true, note(r, "bubbles");
    if (turn % 8 == 3) s.blood = true, note(r, "blood-tinged");
    s.left_story = odds(chance, 0.4);
    note(r, s.left_story ? "story of the left ear" : "story of the right ear");
    s.story_at = double(chance.between(5, 14));
}

Recipe recipe_for(std::uint64_t seed, double seconds, bool small) {
    Recipe r;
    r.seed = seed, r.seconds = seconds;
    const int turn = int((seed + kDeal - 1) % kDeal);
    r.apart = turn >= kLike;
    Chance chance(seed ^ 0xA11);
    const Person patient = invented_person(chance);
    r.starts_at = 1920000000 + std::int64_t(chance.bits() % 250000000);
    if (r.apart) note(r, "apart");
    choose_form(r, turn, small);
    choose_scope(r, turn);
    choose_outside(r, turn);
    choose_text(r, turn, patient);
    choose_sound(r, turn, patient);
    choose_metadata(r, patient);
    std::sort(r.made.begin(), r.made.end());
    r.made.erase(std::unique(r.made.begin(), r.made.end()), r.made.end());
    return r;
}

std::vector<std::string> all_kinds() {
    return {
        // files
        "480 lines", "576 lines interlaced", "720 lines", "1080 lines", "25 frames a second",
        "30 frames a second", "50 frames a second", "60 frames a second", "variable rate", "mkv", "mp4", "mov",
        "avi", "libx264", "mpeg2video", "mpeg4", "mjpeg", "stored on its side", "chapter", "attachment",
        "stream handlers", "apart",
        // scopes
        "round with dark rim", "rectangular without rim", "rim partly out of frame", "side vignette",
        "round beside the middle", "eight-sided outline", "brown cast", "blue cast", "green cast",
        "over-exposed", "dim", "sharper", "softer", "water, waves", "water, droplets", "bubbles",
        "blood-tinged", "story of the left ear", "story of the right ear",
        // burnt-in text
        "name", "birth date", "record number", "clock", "hospital", "serial", "settings", "menu",
        "one-second number", "plain", "outlined", "shadowed", "boxed", "half transparent", "fading",
        "sliding menu", "scrolling", "turned text", "near-black on black", "across the middle", "white text",
        "yellow text", "green text", "odd colour", "analogue smear", "no text",
        "font DejaVu Sans", "font DejaVu Serif", "font DejaVu Sans Mono", "font Liberation Sans",
        "font Liberation Serif", "font Liberation Mono", "font FreeSans", "font Hack", "font FreeSerif",
        "font FreeMono", "font Liberation Sans Narrow",
        // outside
        "room", "letter", "screen", "paper label", "drawn face", "ear from outside", "photograph or stand-in",
        "sign", "hand", "fast in and out", "outside with rim", "outside without rim", "never outside",
        // sound
        "silent", "no sound track", "suction quiet", "suction middling", "suction loud", "no suction", "hum",
        "spoken name", "small talk", "recorded speech or stand-in"};
}

}  // namespace canalogue::demo::labelled
