#include "demo_media/labelled/scene_parts.hpp"

#include <opencv2/imgproc.hpp>

#include "demo_media/labelled/lettering.hpp"
#include "demo_media/noise_fields.hpp"
#include "demo_media/room_drawing.hpp"
#include "demo_media/vector3.hpp"

namespace canalogue::demo::labelled {

namespace {

cv::Scalar scalar(cv::Vec3b v) {
    return {double(v[0]), double(v[1]), double(v[2])};
}

cv::Vec3b scaled(cv::Vec3b v, double by) {
    const auto part = [by](std::uint8_t x) { return std::uint8_t(std::min(255.0, x * by)); };
    return {part(v[0]), part(v[1]), part(v[2])};
}

cv::Vec3b skin_of(Chance& chance) {
    const cv::Vec3b tones[] = {{146, 178, 226}, {120, 156, 208}, {84, 120, 172}, {58, 84, 128}, {44, 60, 92}};
    return tones[chance.bits() % 5];
}
cv::Vec3b hair_of(Chance& chance) {
    const cv::Vec3b tones[] = {{168, 170, 172}, {40, 52, 70}, {24, 24, 28}, {60, 110, 160}, {50, 60, 130}};
    return tones[chance.bits() % 5];
}

// Strands: the hair's region gets fine curved lines, lighter and darker.
void strands(SceneCanvas& c, const cv::Mat1b& where, cv::Vec3b hair, Chance& chance) {
    cv::Mat3b over = c.picture.clone();
    for (int i = 0; i < 9000; ++i) {
        const cv::Point at(int(chance.unit() * flt(c.picture.cols)), int(chance.unit() * flt(c.picture.rows)));
        // Combed back from the forehead, no two quite alike.
        const double lean = 0.3 + 0.9 * at.y / c.picture.rows + double(chance.between(-0.2f, 0.2f));
        const double length = double(chance.between(20, 60));
        const cv::Point to = at + cv::Point(int(length * std::cos(lean)), int(length * std::sin(lean)));
        cv::line(over, at, to, scalar(scaled(hair, double(chance.between(0.6f, 1.45f)))), 1, cv::LINE_AA);
    }
    over.copyTo(c.picture, where);
}

// The hairline is no edge: skin shows through it.
void thin_out(SceneCanvas& c, const cv::Mat3b& bald, const cv::Mat1b& hairy) {
    cv::Mat1b soft;
    cv::GaussianBlur(hairy, soft, {}, 9);
    for (int y = 0; y < soft.rows; ++y)
        for (int x = 0; x < soft.cols; ++x) {
            const float a = flt(soft(y, x)) / 255;
            for (int i = 0; i < 3; ++i)
                c.picture(y, x)[i] = cv::saturate_cast<uchar>(mix(flt(bald(y, x)[i]), flt(c.picture(y, x)[i]), a));
        }
}

}  // namespace

std::uint8_t add_thing(SceneCanvas& c, const std::string& what, const std::string& words) {
    c.things.push_back({what, words, false});
    return std::uint8_t(c.things.size());
}

void fill_table(SceneCanvas& c, cv::Vec3b colour, Chance& chance) {
    c.picture = cv::Mat3b(960, 1440, colour), c.ids = cv::Mat1b(960, 1440, std::uint8_t(0));
    const cv::Mat1f grain = cloud(c.picture.size(), {3, 40, 4, 0.6f}, chance.bits());
    for (int y = 0; y < c.picture.rows; ++y)
        for (int x = 0; x < c.picture.cols; ++x) c.picture(y, x) *= double(0.85f + 0.3f * grain(y, x));
}

void write_on(SceneCanvas& c, const std::string& words, cv::Point at, const std::string& font, int height,
              cv::Vec3b colour, bool bold, bool slanted) {
    const cv::Mat1b mask = lettered(words, {font, bold, height, slanted});
    const cv::Rect seen = cv::Rect(at, mask.size()) & cv::Rect({0, 0}, c.picture.size());
    if (seen.empty()) return;
    const std::uint8_t id = add_thing(c, "text", words);
    for (int y = seen.y; y < seen.br().y; ++y)
        for (int x = seen.x; x < seen.br().x; ++x) {
            const int a = mask(y - at.y, x - at.x);
            for (int i = 0; i < 3; ++i)
                c.picture(y, x)[i] = std::uint8_t((c.picture(y, x)[i] * (255 - a) + colour[i] * a) / 255);
            if (a >= 64) c.ids(y, x) = id;
        }
}

void soft_oval(SceneCanvas& c, cv::Point middle, cv::Size half, double turn, cv::Vec3b colour, double soft,
               double strength, int id) {
    const int reach = std::max(half.width, half.height) + int(soft * 3) + 2;
    const cv::Rect near = cv::Rect(middle.x - reach, middle.y - reach, 2 * reach, 2 * reach) & cv::Rect({0, 0}, c.picture.size());
    if (near.empty()) return;
    cv::Mat1b mask(near.size(), std::uint8_t(0));
    cv::ellipse(mask, middle - near.tl(), half, turn, 0, 360, cv::Scalar(255), cv::FILLED, cv::LINE_AA);
    if (id >= 0) c.ids(near).setTo(id, mask > 127);
    if (soft > 0.3) cv::GaussianBlur(mask, mask, {}, soft);
    for (int y = 0; y < near.height; ++y)
        for (int x = 0; x < near.width; ++x) {
            const float a = flt(mask(y, x)) / 255 * flt(strength);
            cv::Vec3b& p = c.picture(near.y + y, near.x + x);
            for (int i = 0; i < 3; ++i) p[i] = cv::saturate_cast<uchar>(mix(flt(p[i]), flt(colour[i]), a));
        }
}

void paper(SceneCanvas& c, cv::Rect r, cv::Vec3b colour) {
    cv::Mat3b shade = c.picture.clone();
    cv::rectangle(shade, r + cv::Point(10, 12), {30, 34, 38}, cv::FILLED);
    cv::GaussianBlur(shade, shade, {}, 9);
    cv::addWeighted(c.picture, 0.4, shade, 0.6, 0, c.picture);
    cv::rectangle(c.picture, r, scalar(colour), cv::FILLED);
}

void bar_code(SceneCanvas& c, cv::Rect r, Chance& chance) {
    for (int x = r.x; x < r.br().x;) {
        const int w = 2 + int(chance.unit() * 6);
        cv::rectangle(c.picture, {x, r.y, w, r.height}, {30, 28, 28}, cv::FILLED);
        x += w + 2 + int(chance.unit() * 6);
    }
}

void person_in_front(SceneCanvas& c, cv::Rect f, Chance& chance) {
    // The demo's face, tinted: its skin is (146,178,226).
    cv::Mat3b before = c.picture.clone();
    draw_face(c.picture, f);
    const cv::Vec3b skin = skin_of(chance), hair = hair_of(chance);
    cv::Mat1b changed(c.picture.size(), std::uint8_t(0));
    for (int y = 0; y < changed.rows; ++y)
        for (int x = 0; x < changed.cols; ++x) {
            if (before(y, x) == c.picture(y, x)) continue;
            changed(y, x) = 255;
            if (y > f.y + int(1.22 * f.height)) continue;  // clothes
            cv::Vec3b& p = c.picture(y, x);
            const bool hairy = y < f.y + int(0.30 * f.height) && std::abs(int(p[2]) - int(p[0])) < 24;
            for (int i = 0; i < 3; ++i)
                p[i] = hairy ? cv::saturate_cast<uchar>(p[i] * hair[i] / 172.0)
                             : cv::saturate_cast<uchar>(p[i] * skin[i] / (i == 0 ? 146.0 : i == 1 ? 178.0 : 226.0));
        }
    c.ids.setTo(add_thing(c, "person"), changed);
    const std::uint8_t face = add_thing(c, "face");
    cv::ellipse(c.ids, {f.x + f.width / 2, f.y + int(0.47 * f.height)}, {int(0.52 * f.width), int(0.55 * f.height)}, 0, 0, 360,
                cv::Scalar(face), cv::FILLED);
}

void head_from_side(SceneCanvas& c, Chance& chance) {
    const cv::Vec3b skin = skin_of(chance), hair = hair_of(chance);
    const std::uint8_t head = add_thing(c, "person"), ear = add_thing(c, "ear");
    const int w = c.picture.cols, h = c.picture.rows;
    const cv::Point m(w / 2 + int(chance.between(-60, 60)), h / 2);
    const bool left = chance.unit() < 0.5f;
    const int face = left ? -1 : 1;  // where the face looks
    soft_oval(c, {m.x + face * 90, m.y - 40}, {560, 600}, 0, skin, 6, 1, head);
    soft_oval(c, {m.x + face * 40, m.y + 540}, {330, 330}, 0, scaled(skin, 0.82), 30, 1, head);  // neck
    soft_oval(c, {m.x + face * 300, m.y + 60}, {170, 120}, 0, scaled(skin, 1.06), 60, 0.6);      // cheek
    cv::Mat1b hairs(c.picture.size(), std::uint8_t(0));
    cv::ellipse(hairs, {m.x - face * 120, m.y - 380}, {660, 300}, face * 8, 0, 360, cv::Scalar(255), cv::FILLED);
    cv::ellipse(hairs, {m.x - face * 430, m.y - 60}, {240, 480}, face * 6, 0, 360, cv::Scalar(255), cv::FILLED);
    cv::GaussianBlur(hairs, hairs, {}, 55);
    const cv::Mat1f ragged = cloud(hairs.size(), {26, 14, 4, 0.6f}, chance.bits());
    for (int y = 0; y < h; ++y)
        for (int x = 0; x < w; ++x)
            hairs(y, x) = cv::saturate_cast<uchar>(flt(hairs(y, x)) + 150 * (ragged(y, x) - 0.5f));
    cv::Mat1b hairy;
    cv::compare(hairs, 120, hairy, cv::CMP_GT);
    const cv::Mat3b bald = c.picture.clone();
    c.picture.setTo(scalar(hair), hairy), c.ids.setTo(head, hairy);
    strands(c, hairy, hair, chance);
    thin_out(c, bald, hairy);
    // The ear: rim, inner folds, hollow, opening, lobe.
    const double lean = face * 14.0;
    const auto at = [&](int x, int y) { return cv::Point(m.x + face * x, m.y + y); };
    soft_oval(c, at(-22, 14), {128, 208}, lean, scaled(skin, 0.55), 16, 0.8);
    soft_oval(c, at(-14, 0), {116, 194}, lean, scaled(skin, 1.04), 4, 1, ear);
    soft_oval(c, at(20, 150), {58, 66}, 0, scaled(skin, 1.08), 8, 1, ear);
    soft_oval(c, at(-6, -6), {92, 158}, lean, scaled(skin, 0.74), 7, 0.9);
    soft_oval(c, at(-8, -22), {74, 128}, lean, scaled(skin, 1.0), 8, 0.95);
    soft_oval(c, at(10, 12), {50, 78}, lean * 1.6, scaled(skin, 0.66), 8, 0.95);
    soft_oval(c, at(34, 30), {22, 30}, 0, {22, 24, 44}, 6, 0.95);
    soft_oval(c, at(58, 24), {20, 34}, -lean, scaled(skin, 1.05), 5, 0.95);
    soft_oval(c, at(-66, -90), {10, 60}, lean + 10 * face, scaled(skin, 1.3), 6, 0.5);
    c.begin = {m.x * 1.0 / w, m.y * 1.0 / h + 0.03};
}

void open_hand(SceneCanvas& c, Chance& chance) {
    const cv::Vec3b skin = skin_of(chance);
    const std::uint8_t id = add_thing(c, "person");
    const cv::Point m(720, 560);
    for (int i = 0; i < 4; ++i) {
        const double lean = -24 + 15.0 * i;
        const cv::Point at(m.x - 150 + 100 * i, m.y - 250 - (i == 1 || i == 2 ? 50 : 0));
        soft_oval(c, at + cv::Point(8, 8), {52, 190}, lean, scaled(skin, 0.6), 8, 0.8);
        soft_oval(c, at, {48, 186}, lean, scaled(skin, 0.97 + 0.02 * i), 4, 1, id);
        for (int k = -1; k < 2; ++k)
            soft_oval(c, {at.x - 8 * k, at.y + 70 * k}, {40, 4}, lean, scaled(skin, 0.72), 3, 0.6);
    }
    soft_oval(c, m + cv::Point(240, -10), {54, 170}, 48, scaled(skin, 0.93), 5, 1, id);
    soft_oval(c, m, {225, 230}, 0, skin, 6, 1, id);
    for (int k = 0; k < 3; ++k)
        soft_oval(c, m + cv::Point(-30, -60 + 60 * k), {170, 5}, -18 + 12 * k, scaled(skin, 0.7), 4, 0.7);
    soft_oval(c, m + cv::Point(0, 380), {170, 260}, 0, scaled(skin, 0.92), 8, 1, id);
}

void light_falls(SceneCanvas& c, Chance& chance) {
    const cv::Mat1f mottle = cloud(c.picture.size(), {6, 5, 6, 0.5f}, chance.bits());
    const cv::Mat1f pores = cloud(c.picture.size(), {120, 80, 3, 0.7f}, chance.bits());
    const float side = chance.between(-0.45f, 0.45f), strong = chance.between(0.75f, 1.15f);
    for (int y = 0; y < c.picture.rows; ++y)
        for (int x = 0; x < c.picture.cols; ++x) {
            const float lamp = strong * (1 + side * (flt(x) / flt(c.picture.cols) - 0.5f)) * (0.86f + 0.2f * mottle(y, x) + 0.08f * pores(y, x));
            for (int i = 0; i < 3; ++i) c.picture(y, x)[i] = cv::saturate_cast<uchar>(flt(c.picture(y, x)[i]) * lamp);
        }
}

}  // namespace canalogue::demo::labelled
