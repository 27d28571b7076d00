// Burnt-in text as devices write it.
#include <algorithm>

#include "demo_media/labelled/recipe_parts.hpp"

namespace canalogue::demo::labelled {

namespace {

constexpr std::array kFonts{"DejaVu Sans",      "DejaVu Serif",    "DejaVu Sans Mono", "Liberation Sans",
                            "Liberation Serif", "Liberation Mono", "FreeSans",         "Hack"};
constexpr std::array kOddFonts{"FreeSerif", "FreeMono", "Liberation Sans Narrow"};

struct Colour {
    const char* kind;
    cv::Vec3b value;
};
const Colour kUsual[] = {{"white text", {244, 246, 246}}, {"yellow text", {60, 226, 240}}, {"green text", {90, 232, 96}}};
const Colour kOdd[] = {{"odd colour", {236, 170, 60}}, {"odd colour", {190, 90, 245}}, {"odd colour", {40, 130, 250}}};

// How this device writes: most devices keep one hand throughout.
struct Hand {
    TextItem item;
    const char* colour = "";
};

const char* ink_kind(Ink ink) {
    switch (ink) {
        case Ink::outlined: return "outlined";
        case Ink::shadowed: return "shadowed";
        case Ink::boxed: return "boxed";
        default: return "plain";
    }
}

Hand device_hand(const Recipe& r, int turn, Chance& chance) {
    Hand h;
    TextItem& i = h.item;
    i.font = r.apart ? kOddFonts[std::size_t(turn) % kOddFonts.size()] : kFonts[std::size_t(turn) % kFonts.size()];
    i.bold = odds(chance, 0.3);
    i.ink = Ink((turn + turn / 4) % 4);
    const Colour& c = r.apart ? kOdd[std::size_t(turn) % 3] : kUsual[std::size_t(turn + turn / 3) % 3];
    i.colour = c.value, h.colour = c.kind;
    const int n = whole(chance, 0, 2);
    i.under = i.ink == Ink::boxed && n == 1 ? cv::Vec3b{110, 60, 20} : n == 2 ? cv::Vec3b{60, 60, 60} : cv::Vec3b{8, 8, 8};
    if (i.ink == Ink::outlined) i.under = {12, 12, 12};
    // The higher the picture, the larger the letters; half of the frame's lines set the scale, chance the rest.
    const double scale = std::clamp(double(r.form.size.height) / 720, 0.25, 1.4);
    i.height = std::clamp(int(std::lround(scale * double(chance.between(18, 40)))), 15, 52);
    i.soft = r.form.interlaced || turn % 9 == 4;
    return h;
}

class Writer {
public:
    Writer(Recipe& r, Hand hand, Chance& chance) : r_(r), hand_(std::move(hand)), chance_(chance) {}

    TextItem& add(const char* what, std::string words, Slot slot) {
        TextItem item = hand_.item;
        item.what = what, item.words = std::move(words), item.slot = slot;
        item.end = r_.seconds;
        item.height = std::clamp(int(std::lround(item.height * double(chance_.between(0.8f, 1.15f)))), 15, 52);
        note(r_, what), note(r_, hand_.colour), note(r_, ink_kind(item.ink)), note(r_, "font " + item.font);
        if (item.soft) note(r_, "analogue smear");
        r_.text.push_back(item);
        return r_.text.back();
    }
    // Shown for a while only, somewhere in the session.
    void limit(TextItem& item, double length) {
        length = std::min(length, r_.seconds * 0.8);
        item.start = double(chance_.unit()) * (r_.seconds - length);
        item.end = item.start + length;
    }

private:
    Recipe& r_;
    Hand hand_;
    Chance& chance_;
};

Slot corner(Chance& chance, int turn) {
    constexpr Slot kCorners[] = {Slot::top_left, Slot::top_right, Slot::bottom_left, Slot::bottom_right, Slot::top, Slot::bottom};
    return kCorners[std::size_t(turn + whole(chance, 0, 1)) % 6];
}

void patient_lines(Recipe& r, Writer& w, Chance& chance, int turn, const Person& p) {
    const Slot here = corner(chance, turn);
    const int order = whole(chance, 0, 2);
    const std::string name = order == 0   ? p.family + ", " + p.given
                             : order == 1 ? p.given + " " + p.family
                                          : "Name: " + p.family + " " + p.given;
    w.add("name", name, here);
    if (odds(chance, 0.75)) w.add("birth date", (odds(chance, 0.5) ? "DOB " : "") + p.born, here);
    if (odds(chance, 0.75)) w.add("record number", (odds(chance, 0.5) ? "NHS " : "ID TEST ") + p.number, here);
    if (r.apart && odds(chance, 0.5)) r.text.back().slot = Slot::middle, note(r, "across the middle");
}

void device_lines(Writer& w, Chance& chance, int turn) {
    if (turn % 5 != 4) {
        const int form = whole(chance, 0, 3);
        constexpr const char* kClocks[] = {"%Y-%m-%d %H:%M:%S", "%d/%m/%Y  %H:%M:%S", "%H:%M:%S", "%d %b %Y %I:%M:%S %p"};
        w.add("clock", kClocks[form], corner(chance, turn + 2)).clock = true;
    }
    if (odds(chance, 0.5)) w.add("hospital", hospital_line(chance), corner(chance, turn + 3));
    if (odds(chance, 0.35)) w.add("serial", serial_line(chance), corner(chance, turn + 4));
    if (odds(chance, 0.5)) w.add("settings", settings_line(chance), corner(chance, turn + 1));
}

void special_lines(Recipe& r, Writer& w, Chance& chance, int turn, const Person& p) {
    if (turn % 5 == 0) {
        TextItem& i = w.add("menu", "MENU  PATIENT " + p.family + "\nEXAM  EAR LEFT/RIGHT\nSTORE  PRINT  EXIT", Slot::left);
        w.limit(i, double(chance.between(1.8f, 4)));
        i.move = Move::slide, i.ink = Ink::boxed;
        note(r, "sliding menu"), note(r, "boxed");
    }
    if (turn % 5 == 1) {
        TextItem& i = w.add("record number", "TEST " + p.number, turn % 2 ? Slot::middle : Slot::top_right);
        w.limit(i, 1);
        note(r, "one-second number");
        if (i.slot == Slot::middle) note(r, "across the middle");
    }
    if (turn % 10 == 2) {
        TextItem& i = w.add("hospital", hospital_line(chance) + "   " + p.family + ", " + p.given + "   " + p.number, Slot::bottom);
        i.move = Move::scroll, note(r, "scrolling");
    }
    if (turn % 6 == 3) {
        TextItem& i = w.add("name", p.given + " " + p.family, odds(chance, 0.5) ? Slot::left : Slot::right);
        i.turned = true, note(r, "turned text");
    }
    if (turn % 7 == 3) {
        TextItem& i = w.add("record number", "TEST " + p.number, Slot::bottom_right);
        i.colour = {34, 32, 33}, i.ink = Ink::plain, i.opacity = 1, note(r, "near-black on black"), note(r, "plain");
    }
    if (turn % 5 == 3) {
        TextItem& i = w.add("birth date", "Born " + p.born, Slot::middle);
        w.limit(i, double(chance.between(3, 7)));
        i.move = Move::fade, note(r, "fading"), note(r, "across the middle");
    }
}

}  // namespace

void choose_text(Recipe& r, int turn, const Person& patient) {
    Chance chance(r.seed ^ 0x7E87);
    if (turn % 20 == 14) {
        note(r, "no text");
        return;
    }
    const Hand hand = device_hand(r, turn, chance);
    Writer w(r, hand, chance);
    if (turn % 10 != 7) patient_lines(r, w, chance, turn, patient);
    device_lines(w, chance, turn);
    special_lines(r, w, chance, turn, patient);
    if (turn % 6 == 1) {
        note(r, "half transparent");
        for (TextItem& i : r.text)
            if (i.colour[1] > 60) i.opacity = double(chance.between(0.4f, 0.65f));
    }
}

}  // namespace canalogue::demo::labelled
