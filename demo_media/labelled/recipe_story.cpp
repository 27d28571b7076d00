// When the scope leaves the ear, what is said and heard, and what the file says about itself.
#include <algorithm>

#include "demo_media/burnt_in.hpp"
#include "demo_media/labelled/found_files.hpp"
#include "demo_media/labelled/recipe_parts.hpp"

namespace canalogue::demo::labelled {

namespace {

const char* scene_kind(Scene scene) {
    switch (scene) {
        case Scene::room: return "room";
        case Scene::letter: return "letter";
        case Scene::screen: return "screen";
        case Scene::label: return "paper label";
        case Scene::face: return "drawn face";
        case Scene::head_side: return "ear from outside";
        case Scene::photograph: return "photograph or stand-in";
        case Scene::sign: return "sign";
        default: return "hand";
    }
}

Scene scene_for(const Recipe& r, int turn, int number) {
    constexpr Scene kUsual[] = {Scene::head_side, Scene::photograph, Scene::label, Scene::face,
                                Scene::screen,    Scene::room,       Scene::letter};
    constexpr Scene kOdd[] = {Scene::sign, Scene::hand, Scene::photograph};
    if (r.apart) return kOdd[(turn + number) % 3];
    return kUsual[(turn * 2 + number * 3) % 7];
}

void add_outing(Recipe& r, int turn, Chance& chance, double start, double length) {
    Outing o;
    o.start = std::max(0.0, start), o.end = std::min(r.seconds, start + length);
    if (o.end - o.start < 0.5) return;
    o.fade = double(chance.between(0.08f, 0.28f));
    o.pull = std::min(double(chance.between(0.35f, 0.8f)), (o.end - o.start) / 3);
    o.scene = scene_for(r, turn, int(r.outside.size()));
    o.seed = chance.bits();
    // Dealt in turn: few sessions show a photograph, and each should be among them.
    if (o.scene == Scene::photograph) o.seed += std::uint64_t(turn / 2 + 5) - o.seed % kPhotographs;
    o.rim = odds(chance, 0.55);
    note(r, scene_kind(o.scene)), note(r, o.rim ? "outside with rim" : "outside without rim");
    r.outside.push_back(o);
}

}  // namespace

void choose_outside(Recipe& r, int turn) {
    Chance chance(r.seed ^ 0x0075);
    if (turn % 10 == 8) {
        note(r, "never outside");
        return;
    }
    if (turn % 4 == 2) {  // fast in and out
        note(r, "fast in and out");
        for (double t = double(chance.between(0.5f, 2)); t < r.seconds - 0.7;) {
            const double length = double(chance.between(0.6f, 1.5f));
            add_outing(r, turn, chance, t, length);
            t += length + double(chance.between(1.5f, 4));
        }
        return;
    }
    if (odds(chance, 0.5)) add_outing(r, turn, chance, 0, double(chance.between(2, 4)));
    const double middle = r.seconds * double(chance.between(0.35f, 0.5f));
    add_outing(r, turn, chance, middle, std::min(r.seconds * 0.4, double(chance.between(2, 6))));
    if (odds(chance, 0.5)) add_outing(r, turn, chance, r.seconds - double(chance.between(2, 3.5f)), 4);
}

namespace {

// Voices without flutter: the phase of one would be carried into the next line, and change its length.
constexpr std::array kVoices{"en+Hugo", "en-us+shelby", "en-gb-scotland+Alex", "en+Diogo", "en-gb-x-rp+Denis", "en-us+Storm", "en+Andy"};

void add_speech(Recipe& r, int turn, Chance& chance, const Person& p) {
    constexpr double kSnr[] = {-3, 0, 3, 6, 10, 15, 20};
    int number = 0;
    for (double t = double(chance.between(0.3f, 1.5f)); t < r.seconds - 1.5; ++number) {
        Speech s;
        s.at = t, s.voice = kVoices[std::size_t(turn + number) % kVoices.size()];
        s.pace = whole(chance, 135, 190);
        s.snr_db = kSnr[whole(chance, 0, 6)];
        const int what = (turn + number) % 3;
        s.name = what == 0;
        s.words = s.name ? telling_sentence(chance, p) : small_talk(chance);
        if (what == 2) {
            s.clip = whole(chance, 0, kClips - 1);
            s.words = clip_words(s.clip);
        }
        note(r, what == 0 ? "spoken name" : what == 1 ? "small talk" : "recorded speech or stand-in");
        r.speech.push_back(s);
        t += double(chance.between(5, 8));
    }
}

}  // namespace

void choose_sound(Recipe& r, int turn, const Person& patient) {
    Chance chance(r.seed ^ 0x50D5);
    if (r.form.sound.empty()) return;
    if (turn % 20 == 6) {
        r.silent = true;
        note(r, "silent");
        return;
    }
    constexpr double kLevels[] = {0.004, 0.015, 0.05};
    constexpr const char* kWords[] = {"suction quiet", "suction middling", "suction loud"};
    const int level = turn % 4;
    if (level < 3) {
        r.noise.suction = kLevels[level];
        note(r, kWords[level]);
        for (double t = double(chance.between(0, 2)); t < r.seconds;) {
            const double until = std::min(r.seconds, t + double(chance.between(3, 9)));
            r.noise.suction_on.push_back({t, until});
            t = until + double(chance.between(0.5f, 3));
        }
    } else {
        note(r, "no suction");
    }
    r.noise.hum = double(chance.between(0.001f, 0.008f));
    if (r.noise.hum > 0.004) note(r, "hum");
    add_speech(r, turn, chance, patient);
}

void choose_metadata(Recipe& r, const Person& p) {
    Chance chance(r.seed ^ 0x3E7A);
    const std::string when = written_time(r.starts_at);
    r.metadata = {{"title", "TEST " + p.family + " " + p.given + " " + (r.scope.left_story ? "left" : "right")},
                  {"artist", "Dr " + invented_person(chance).family + "-Test, " + hospital_line(chance)},
                  {"comment", "TEST record " + p.number + ", born " + p.born}};
    if (r.form.container == "avi") {
        r.metadata["date"] = when;
        return;
    }
    r.metadata["creation_time"] = when.substr(0, 10) + "T" + when.substr(11) + ".000000Z";
    if (r.form.container == "mp4" || r.form.container == "mov" || r.form.container == "mkv") {
        r.handler = "TEST scope of " + p.family;
        note(r, "stream handlers");
        r.chapter = "Ear of " + p.given + " " + p.family;
        note(r, "chapter");
    }
    if (r.form.container == "mkv") {
        r.attachment = "TEST referral " + p.family + " " + p.number.substr(4, 3) + ".txt";
        note(r, "attachment");
    }
}

}  // namespace canalogue::demo::labelled
