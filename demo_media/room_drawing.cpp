#include "demo_media/room_drawing.hpp"

#include <opencv2/imgproc.hpp>
#include <string>

#include "demo_media/chance.hpp"
#include "demo_media/vector3.hpp"

namespace canalogue::demo {

namespace {

constexpr int kFont = cv::FONT_HERSHEY_DUPLEX;

void write(cv::Mat3b& m, const std::string& text, int x, int y, double size, cv::Scalar colour,
           int stroke = 1) {
    cv::putText(m, text, {x, y}, kFont, size, colour, stroke, cv::LINE_AA);
}

UprightBox box(const cv::Rect& r) {
    return {r.x, r.y, r.width, r.height};
}

void shadow(cv::Mat3b& m, cv::Rect r, int reach) {
    cv::Mat1b dark(m.size(), uchar(0));
    cv::rectangle(dark, {r.x + reach / 2, r.y + reach / 2, r.width, r.height}, cv::Scalar(110), cv::FILLED);
    cv::GaussianBlur(dark, dark, {}, reach * 0.6);
    for (int y = 0; y < m.rows; ++y)
        for (int x = 0; x < m.cols; ++x) m(y, x) *= 1 - flt(dark(y, x)) / 255;
}

cv::Rect draw_poster(cv::Mat3b& m) {
    const cv::Rect r(1010, 120, 390, 520);
    shadow(m, r, 18);
    cv::rectangle(m, r, {214, 226, 222}, cv::FILLED);
    cv::rectangle(m, {r.x, r.y, r.width, 96}, {128, 92, 38}, cv::FILLED);
    write(m, "HEARING CARE", r.x + 34, r.y + 62, 1.35, {240, 244, 240}, 2);
    const char* lines[] = {"Never put anything", "into your own ear.", "Ask us first:", "Harbour Ear Clinic",
                           "Tel. TEST 0000 48213"};
    for (int i = 0; i < 5; ++i)
        write(m, lines[i], r.x + 36, r.y + 330 + 42 * i, 0.95, {66, 52, 40}, i > 2 ? 2 : 1);
    // a drawn outer ear as the poster's picture
    const cv::Point c(r.x + 195, r.y + 195);
    cv::ellipse(m, c, {58, 84}, 12, 0, 360, {150, 176, 222}, cv::FILLED, cv::LINE_AA);
    cv::ellipse(m, c, {58, 84}, 12, 170, 380, {90, 118, 176}, 6, cv::LINE_AA);
    cv::ellipse(m, {c.x + 4, c.y + 6}, {30, 48}, 12, 150, 360, {98, 126, 184}, 7, cv::LINE_AA);
    cv::ellipse(m, {c.x + 14, c.y + 18}, {13, 18}, 0, 0, 360, {58, 74, 118}, cv::FILLED, cv::LINE_AA);
    return r;
}

cv::Rect draw_screen(cv::Mat3b& m) {
    const cv::Rect r(90, 470, 360, 270);
    shadow(m, r, 26);
    cv::rectangle(m, {r.x - 14, r.y - 14, r.width + 28, r.height + 28}, {38, 36, 36}, cv::FILLED);
    cv::rectangle(m, {r.x + 150, r.y + 284, 60, 60}, {44, 42, 42}, cv::FILLED);
    cv::rectangle(m, r, {226, 214, 196}, cv::FILLED);
    cv::rectangle(m, {r.x, r.y, r.width, 40}, {134, 100, 52}, cv::FILLED);
    write(m, "Today  Room 2", r.x + 14, r.y + 28, 0.8, {240, 240, 240});
    const char* rows[] = {"09:40 Brackwater A", "10:10 Test Patient", "10:40 Sample Person", "11:10 free"};
    for (int i = 0; i < 4; ++i) {
        if (i == 0) cv::rectangle(m, {r.x + 6, r.y + 52, r.width - 12, 44}, {196, 210, 150}, cv::FILLED);
        write(m, rows[i], r.x + 18, r.y + 84 + 52 * i, 0.85, {50, 42, 36});
    }
    return r;
}

cv::Rect draw_label(cv::Mat3b& m) {
    const cv::Rect r(640, 900, 330, 150);
    shadow(m, r, 10);
    cv::rectangle(m, r, {232, 238, 240}, cv::FILLED);
    write(m, "BRACKWATER Aldous", r.x + 16, r.y + 40, 0.9, {34, 30, 30}, 2);
    write(m, "14-03-1951  TEST 0048213", r.x + 16, r.y + 78, 0.68, {34, 30, 30});
    Chance chance(48213);
    for (int x = r.x + 16; x < r.x + 280;) {
        const int w = 2 + int(chance.unit() * 5);
        cv::rectangle(m, {x, r.y + 96, w, 40}, {36, 32, 32}, cv::FILLED);
        x += w + 2 + int(chance.unit() * 5);
    }
    return r;
}

void soft_ellipse(cv::Mat3b& m, cv::Point c, cv::Size half, double turn, cv::Scalar colour, double soft) {
    cv::Mat1b mask(m.size(), uchar(0));
    cv::ellipse(mask, c, half, turn, 0, 360, cv::Scalar(255), cv::FILLED, cv::LINE_AA);
    if (soft > 0) cv::GaussianBlur(mask, mask, {}, soft);
    const int reach = std::max(half.width, half.height) + int(soft * 3) + 2;
    const cv::Rect near =
        cv::Rect(c.x - reach, c.y - reach, 2 * reach, 2 * reach) & cv::Rect({0, 0}, m.size());
    for (int y = near.y; y < near.br().y; ++y)
        for (int x = near.x; x < near.br().x; ++x) {
            const float a = flt(mask(y, x)) / 255 * flt(colour[3] > 0 ? colour[3] : 1);
            for (int i = 0; i < 3; ++i)
                m(y, x)[i] = cv::saturate_cast<uchar>(mix(flt(m(y, x)[i]), flt(colour[i]), a));
        }
}

}  // namespace

void draw_face(cv::Mat3b& m, cv::Rect f) {
    const auto at = [&](double x, double y) {
        return cv::Point(f.x + int(x * f.width), f.y + int(y * f.height));
    };
    const auto len = [&](double x, double y) {
        return cv::Size(std::max(1, int(x * f.width)), std::max(1, int(y * f.height)));
    };
    const double u = f.width / 100.0;
    soft_ellipse(m, at(0.5, 1.62), len(1.05, 0.55), 0, {96, 78, 60}, 4 * u);      // shoulders
    soft_ellipse(m, at(0.5, 1.02), len(0.22, 0.25), 0, {112, 140, 190}, 2 * u);   // neck
    soft_ellipse(m, at(0.5, 0.36), len(0.50, 0.42), 0, {168, 170, 172}, 2 * u);   // grey hair
    soft_ellipse(m, at(0.02, 0.56), len(0.06, 0.11), 8, {118, 146, 200}, 1 * u);  // ears
    soft_ellipse(m, at(0.98, 0.56), len(0.06, 0.11), -8, {96, 120, 172}, 1 * u);
    soft_ellipse(m, at(0.5, 0.55), len(0.45, 0.47), 0, {146, 178, 226}, 1.5 * u);      // head
    soft_ellipse(m, at(0.80, 0.60), len(0.18, 0.36), 0, {98, 126, 180, 0.55}, 8 * u);  // shaded side
    soft_ellipse(m, at(0.36, 0.30), len(0.16, 0.10), 0, {186, 208, 240, 0.7}, 6 * u);  // lit forehead
    for (double x : {0.31, 0.69}) {
        soft_ellipse(m, at(x, 0.475), len(0.12, 0.065), 0, {92, 118, 168, 0.7}, 3 * u);  // sockets
        soft_ellipse(m, at(x, 0.485), len(0.085, 0.034), 0, {226, 230, 234}, 0.8 * u);
        soft_ellipse(m, at(x, 0.485), len(0.034, 0.034), 0, {86, 66, 44}, 0.6 * u);
        soft_ellipse(m, at(x, 0.485), len(0.016, 0.016), 0, {16, 14, 14}, 0.4 * u);
        soft_ellipse(m, at(x - 0.01, 0.477), len(0.007, 0.007), 0, {250, 250, 250}, 0);
        soft_ellipse(m, at(x, 0.45), len(0.095, 0.012), 0, {62, 70, 96, 0.8}, 1 * u);  // lid
        soft_ellipse(m, at(x, 0.39), len(0.115, 0.020), x < 0.5 ? -5 : 5, {120, 124, 130, 0.9}, 1.3 * u);
        soft_ellipse(m, at(x < 0.5 ? 0.27 : 0.73, 0.66), len(0.10, 0.07), 0, {122, 142, 226, 0.35}, 5 * u);
    }
    soft_ellipse(m, at(0.53, 0.57), len(0.055, 0.13), 0, {108, 138, 194, 0.6}, 3 * u);  // nose
    soft_ellipse(m, at(0.48, 0.55), len(0.022, 0.11), 0, {184, 206, 240, 0.7}, 2 * u);
    soft_ellipse(m, at(0.5, 0.665), len(0.085, 0.035), 0, {116, 146, 206}, 2 * u);
    for (double x : {0.455, 0.545})
        soft_ellipse(m, at(x, 0.683), len(0.022, 0.012), 0, {54, 66, 106}, 0.8 * u);
    soft_ellipse(m, at(0.5, 0.795), len(0.155, 0.034), 0, {100, 108, 182}, 1.6 * u);  // mouth
    soft_ellipse(m, at(0.5, 0.793), len(0.150, 0.008), 0, {54, 54, 98}, 0.8 * u);
    soft_ellipse(m, at(0.5, 0.86), len(0.11, 0.02), 0, {104, 134, 190, 0.7}, 2 * u);
}

std::vector<RoomThing> draw_room(cv::Mat3b& m, std::uint64_t seed) {
    m.create(1200, 1600);
    for (int y = 0; y < m.rows; ++y)
        for (int x = 0; x < m.cols; ++x)
            m(y, x) = y < 830 ? cv::Vec3b(176, 192, 190) : cv::Vec3b(112, 138, 158);
    cv::rectangle(m, {0, 818, 1600, 16}, {150, 160, 160}, cv::FILLED);
    const cv::Rect window(60, 40, 330, 360);
    cv::rectangle(m, window, {246, 240, 226}, cv::FILLED);
    Chance chance(seed ^ 0x400);
    for (int y = window.y; y < window.br().y; y += 26)
        cv::rectangle(m, {window.x, y, window.width, 9 + int(chance.unit() * 4)}, {206, 210, 204},
                      cv::FILLED);
    cv::rectangle(m, window, {120, 130, 134}, 12);
    std::vector<RoomThing> placed;
    placed.push_back({"poster", box(draw_poster(m))});
    placed.push_back({"screen", box(draw_screen(m))});
    const cv::Rect face(600, 300, 270, 330);
    draw_face(m, face);
    placed.push_back({"face", {face.x - 8, face.y - 24, face.width + 16, face.height + 40}});
    cv::rectangle(m, {430, 870, 900, 330}, {126, 158, 184}, cv::FILLED);  // desk
    cv::rectangle(m, {430, 870, 900, 12}, {158, 188, 208}, cv::FILLED);
    placed.push_back({"label", box(draw_label(m))});
    return placed;
}

}  // namespace canalogue::demo
