#include "demo_media/labelled/scene.hpp"

#include <opencv2/imgproc.hpp>

#include "demo_media/labelled/found_files.hpp"
#include "demo_media/labelled/invented_words.hpp"
#include "demo_media/labelled/labels.hpp"
#include "demo_media/labelled/scene_parts.hpp"
#include "demo_media/room_drawing.hpp"

namespace canalogue::demo::labelled {

namespace {

constexpr std::array kPrint{"Liberation Sans", "DejaVu Serif", "FreeSans", "Liberation Serif", "Liberation Mono"};

constexpr int kDeskTop = 870;  // of the demo's room

// The demo's room: its written things are told by contrast within the boxes that it tells.
void demo_room(SceneCanvas& c, Chance& chance) {
    const std::vector<RoomThing> placed = draw_room(c.picture, chance.bits());
    c.ids = cv::Mat1b(c.picture.size(), std::uint8_t(0));
    const std::map<std::string, std::string> words{
        {"poster", "HEARING CARE Never put anything into your own ear. Ask us first: Harbour Ear Clinic Tel. TEST 0000 48213"},
        {"screen", "Today Room 2 09:40 Brackwater A 10:10 Test Patient 10:40 Sample Person 11:10 free"},
        {"label", "BRACKWATER Aldous 14-03-1951 TEST 0048213"}};
    for (const RoomThing& t : placed) {
        const cv::Rect r(t.box.x, t.box.y, t.box.w, t.box.h);
        if (t.what == "face") {
            const cv::Point middle(r.x + r.width / 2, r.y + r.height / 2);
            const std::uint8_t body = add_thing(c, "person");
            // The shoulders as draw_face draws them, down to the desk.
            cv::ellipse(c.ids, {middle.x, middle.y + 362}, {284, 182}, 0, 0, 360, cv::Scalar(body), cv::FILLED);
            cv::rectangle(c.ids, {middle.x - 62, middle.y + 90, 124, 130}, cv::Scalar(body), cv::FILLED);
            c.ids.rowRange(kDeskTop, c.ids.rows).setTo(0);
            cv::ellipse(c.ids, middle, {r.width / 2 + 14, r.height / 2 + 6}, 0, 0, 360, cv::Scalar(add_thing(c, "face")), cv::FILLED);
            continue;
        }
        const std::uint8_t id = add_thing(c, "text", words.at(t.what));
        const cv::Rect inner(r.x + 8, r.y + 4, r.width - 16, r.height - 8);
        cv::Mat1b grey, ground, ink;
        cv::cvtColor(c.picture(inner), grey, cv::COLOR_BGR2GRAY);
        cv::medianBlur(grey, ground, 41);
        cv::absdiff(grey, ground, ink);
        ink = ink > 45;
        // Neither the poster's picture nor the label's bars are written.
        if (t.what == "poster") ink.rowRange(84, 300).setTo(0);
        if (t.what == "label") ink.rowRange(88, ink.rows).setTo(0);
        c.ids(inner).setTo(id, ink);
    }
    c.begin = {0.45, 0.40}, c.end = {0.62, 0.55}, c.wide = 0.75;
}

void letter(SceneCanvas& c, Chance& chance) {
    fill_table(c, {110, 140, 165}, chance);
    const Person p = invented_person(chance);
    paper(c, {330, 60, 760, 860}, {232, 240, 242});
    const std::string font = one_of(chance, kPrint);
    const std::string lines[] = {hospital_line(chance), "", "Re: " + p.given + " " + p.family,
                                 "Born " + p.born + "   NHS " + p.number, "", "Dear Dr Test,",
                                 "I saw this patient for microsuction of",
                                 "the ears. Please arrange a hearing test", "and a review within six weeks.", "",
                                 "Yours sincerely,", "Nurse " + invented_person(chance).family};
    for (int i = 0; i < 12; ++i)
        if (!lines[i].empty())
            write_on(c, lines[i], {380, 110 + 58 * i}, font, 34, {40, 34, 34}, i == 0 || i == 2);
    c.begin = {0.5, 0.35}, c.end = {0.48, 0.6}, c.wide = double(chance.between(0.5f, 0.9f));
}

void screen(SceneCanvas& c, Chance& chance) {
    fill_table(c, {170, 180, 178}, chance);
    cv::rectangle(c.picture, {180, 90, 1080, 720}, {34, 32, 32}, cv::FILLED);
    const bool night = (chance.bits() & 1) == 0;
    const cv::Vec3b ground = night ? cv::Vec3b{60, 44, 36} : cv::Vec3b{236, 228, 214};
    const cv::Vec3b ink = night ? cv::Vec3b{220, 226, 226} : cv::Vec3b{44, 38, 36};
    cv::rectangle(c.picture, {206, 116, 1028, 668}, cv::Scalar(ground[0], ground[1], ground[2]), cv::FILLED);
    cv::rectangle(c.picture, {206, 116, 1028, 70}, {150, 96, 40}, cv::FILLED);
    write_on(c, "Appointments   " + hospital_line(chance), {228, 134}, "DejaVu Sans", 34, {244, 244, 244});
    for (int i = 0; i < 7; ++i) {
        const Person p = invented_person(chance);
        const std::string hour = (i < 1 ? "09:" : i < 4 ? "10:" : "11:") + std::to_string(10 + whole(chance, 0, 49));
        write_on(c, hour + "  " + p.family + ", " + p.given + "   " + p.number, {234, 222 + 76 * i}, "DejaVu Sans", 36, ink);
    }
    c.begin = {0.5, 0.45}, c.end = {0.44, 0.52}, c.wide = double(chance.between(0.55f, 0.95f));
}

void label(SceneCanvas& c, Chance& chance) {
    fill_table(c, {196, 186, 170}, chance);
    const Person p = invented_person(chance);
    paper(c, {380, 300, 680, 330}, {238, 244, 246});
    const std::string font = one_of(chance, kPrint);
    write_on(c, p.family + " " + p.given, {410, 326}, font, 52, {32, 28, 28}, true);
    write_on(c, "Born " + p.born + "   M/F", {410, 398}, font, 38, {32, 28, 28});
    write_on(c, "NHS " + p.number, {410, 454}, font, 38, {32, 28, 28});
    bar_code(c, {410, 520, 480, 80}, chance);
    c.begin = {0.5, 0.5}, c.end = {0.52, 0.45}, c.wide = double(chance.between(0.45f, 0.8f));
}

void face(SceneCanvas& c, Chance& chance) {
    fill_table(c, {186, 190, 180}, chance);
    const int w = whole(chance, 260, 420);
    person_in_front(c, {720 - w / 2 + whole(chance, -120, 120), 190, w, int(w * 1.22)}, chance);
    const Person p = invented_person(chance);
    if ((chance.bits() & 1) == 0) {
        const int y = 250 + int(w * 1.22 * 1.2);
        paper(c, {760, y, 190, 74}, {240, 244, 240});
        write_on(c, p.given, {776, y + 12}, "Liberation Sans", 26, {60, 40, 30}, true);
        write_on(c, "Audiology TEST", {776, y + 46}, "Liberation Sans", 17, {60, 40, 30});
    }
    c.begin = {0.5, 0.40}, c.end = {0.54, 0.48}, c.wide = double(chance.between(0.6f, 0.95f));
}

void sign(SceneCanvas& c, Chance& chance) {
    fill_table(c, {60, 90, 70}, chance);
    cv::rectangle(c.picture, {240, 200, 960, 330}, {120, 60, 24}, cv::FILLED);
    write_on(c, "ROOM " + std::to_string(whole(chance, 1, 9)), {300, 240}, "FreeSerif", 96, {200, 236, 246}, true);
    write_on(c, "Dr " + invented_person(chance).family, {300, 370}, "FreeSerif", 84, {200, 236, 246}, false, true);
    paper(c, {420, 600, 620, 250}, {120, 220, 246});
    write_on(c, "call " + invented_person(chance).given, {450, 640}, "FreeSerif", 64, {70, 20, 20}, false, true);
    write_on(c, "re: " + invented_person(chance).number, {450, 740}, "FreeMono", 54, {70, 20, 20}, false, true);
    c.begin = {0.5, 0.4}, c.end = {0.5, 0.7}, c.wide = 0.7;
}

// The photograph's people and writing at their places, or drawn people at the same places, so that labels
// are the same on a machine without the photograph. Its number is the seed's rest.
void from_photograph(SceneCanvas& c, std::uint64_t seed, Chance& chance, std::vector<std::string>& files) {
    const auto& list = photographs();
    c.begin = {0.5, 0.45};
    const Photograph& photo = list[seed % kPhotographs];
    const cv::Mat3b found = read_photograph(photo);
    fill_table(c, {150, 150, 150}, chance);
    if (!found.empty()) {
        cv::resize(found, c.picture, c.picture.size(), 0, 0, cv::INTER_CUBIC);
        files.push_back(photo.file.filename().string());
    }
    const cv::Size size = c.picture.size();
    const auto px = [&](cv::Point2d p) { return cv::Point(int(p.x * size.width), int(p.y * size.height)); };
    for (const Region& r : photo.regions) {
        const int id = add_thing(c, r.what, r.words);
        c.things.back().photograph = !found.empty();
        std::vector<cv::Point> outline;
        if (r.oval) {
            const cv::Point half = px(r.corners[1]);
            cv::ellipse2Poly(px(r.corners[0]), {half.x, half.y}, 0, 0, 360, 6, outline);
            c.begin = r.corners[0];
        } else {
            for (const cv::Point2d& p : r.corners) outline.push_back(px(p));
        }
        cv::fillPoly(c.ids, std::vector{outline}, cv::Scalar(id));
        if (found.empty()) {
            const cv::Scalar colour = r.what == "face" ? cv::Scalar(146, 178, 226) : cv::Scalar(90, 80, 70);
            cv::fillPoly(c.picture, std::vector{outline}, colour, cv::LINE_AA);
            if (r.oval) {
                const cv::Rect b = cv::boundingRect(outline);
                draw_face(c.picture, {b.x + b.width / 12, b.y + b.height / 12, b.width * 5 / 6, b.height * 5 / 6});
            }
        }
    }
    c.end = {c.begin.x * 0.7 + 0.15, c.begin.y * 0.7 + 0.15}, c.wide = double(chance.between(0.5f, 0.85f));
}

}  // namespace

SceneCanvas scene_canvas(Scene scene, std::uint64_t seed, std::vector<std::string>& files) {
    Chance chance(seed);
    SceneCanvas c;
    switch (scene) {
        case Scene::room: demo_room(c, chance); break;
        case Scene::letter: letter(c, chance); break;
        case Scene::screen: screen(c, chance); break;
        case Scene::label: label(c, chance); break;
        case Scene::face: face(c, chance); break;
        case Scene::sign: sign(c, chance); break;
        case Scene::photograph: from_photograph(c, seed, chance, files); break;
        case Scene::head_side:
            fill_table(c, {150, 160, 150}, chance);
            head_from_side(c, chance);
            c.end = {c.begin.x + double(chance.between(-0.06f, 0.06f)), 0.45}, c.wide = double(chance.between(0.6f, 1.0f));
            break;
        case Scene::hand:
            fill_table(c, {120, 110, 60}, chance);
            open_hand(c, chance);
            c.begin = {0.5, 0.5}, c.end = {0.5, 0.6}, c.wide = 0.85;
            break;
    }
    light_falls(c, chance);
    return c;
}

}  // namespace canalogue::demo::labelled
