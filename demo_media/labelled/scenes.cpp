#include "demo_media/labelled/scenes.hpp"

#include <cmath>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "demo_media/chance.hpp"
#include "demo_media/labelled/writing.hpp"

namespace canalogue::demo::labelled {

namespace {

struct Photograph {
    const char* file;
    std::vector<cv::Rect> faces;  // boxed by eye
    bool apart;
};

// Debian's python3-skimage and opencv-doc.
const std::vector<Photograph>& photographs() {
    static const std::string skimage = "/usr/lib/python3/dist-packages/skimage/data/", opencv = "/usr/share/doc/opencv-doc/examples/data/";
    static const std::string files[] = {skimage + "astronaut.png", opencv + "messi5.jpg", opencv + "stuff.jpg", opencv + "home.jpg", opencv + "basketball1.png", skimage + "camera.png", opencv + "board.jpg", opencv + "graf1.png", opencv + "fruits.jpg"};
    static const std::vector<Photograph> all{{files[0].c_str(), {{170, 60, 105, 140}}, false}, {files[1].c_str(), {{217, 65, 52, 62}}, false}, {files[2].c_str(), {}, false},
                                             {files[3].c_str(), {}, false}, {files[4].c_str(), {{50, 80, 52, 60}, {510, 30, 90, 110}}, true}, {files[5].c_str(), {{165, 90, 90, 130}}, true},
                                             {files[6].c_str(), {}, true}, {files[7].c_str(), {}, true}, {files[8].c_str(), {}, false}};
    return all;
}

cv::Mat3b blotches(cv::Size size, cv::Scalar colour, cv::Scalar spread, std::uint64_t seed, std::initializer_list<int> cells) {
    cv::Mat3f out(size, cv::Vec3f(static_cast<float>(colour[0]), static_cast<float>(colour[1]), static_cast<float>(colour[2])));
    cv::RNG random(seed);
    for (const int cell : cells) {
        cv::Mat coarse(size.height / cell + 2, size.width / cell + 2, CV_32FC3), fine;
        random.fill(coarse, cv::RNG::NORMAL, cv::Scalar::all(0), spread);
        cv::resize(coarse, fine, size, 0, 0, cv::INTER_CUBIC);
        out += fine;
    }
    cv::Mat3b done;
    out.convertTo(done, CV_8UC3);
    return done;
}

// Skin with hair, as it fills the view just before the ear.
Scene skin(std::uint64_t seed) {
    Chance chance(seed ^ 0x5C1);
    Scene s{"skin and hair", blotches({960, 720}, {130 + 40 * chance.unit(), 155 + 40 * chance.unit(), 200 + 40 * chance.unit()}, {7, 7, 7}, seed, {180, 60, 12}), {}, {}, false};
    for (int i = 0; i < 260; ++i) {
        const cv::Point a(static_cast<int>(chance.between(0, 960)), static_cast<int>(chance.between(-100, 260)));
        const cv::Point b = a + cv::Point(static_cast<int>(chance.between(-60, 60)), static_cast<int>(chance.between(120, 330)));
        const double dark = chance.between(20, 70);
        cv::line(s.picture, a, b, {dark * .6, dark * .8, dark}, 1 + (i % 5 == 0), cv::LINE_AA);
    }
    // The rim of an ear from outside: two curved folds.
    cv::ellipse(s.picture, {520, 470}, {190, 250}, 12, 150, 400, {105, 130, 185}, 26, cv::LINE_AA);
    cv::ellipse(s.picture, {530, 490}, {110, 165}, 12, 130, 380, {95, 118, 170}, 20, cv::LINE_AA);
    cv::GaussianBlur(s.picture, s.picture, {}, 2.2);
    return s;
}

// A sheet of paper, or a screen, with an invented patient's lines.
Scene paper(std::uint64_t seed, bool apart) {
    Chance chance(seed ^ 0xAA);
    Scene s{"paper", blotches({960, 720}, {150, 165, 175}, {9, 9, 9}, seed, {200, 50, 5}), {}, {}, false};
    const bool screen = chance.unit() < .5f;
    cv::rectangle(s.picture, {170, 90, 620, 520}, screen ? cv::Scalar(120, 70, 30) : cv::Scalar(235, 240, 242), cv::FILLED);
    static const char* const kLines[] = {"Patient: Mara Tidewell", "Born 02.11.1947", "NHS 999 000 0042", "Harbour Ear Clinic", "Room 3   09:20", "Ref TEST 5571840"};
    cv::Mat1b nothing(s.picture.size());
    for (int i = 0; i < 6; ++i) {
        Writing w;
        w.text = kLines[i];
        w.font = apart ? "DejaVu Serif" : "Liberation Sans";
        w.height = 44;
        w.colour = screen ? cv::Scalar(235, 240, 245) : cv::Scalar(30, 25, 20);
        w.place = {215, 130 + 74 * i};
        w.end = 1;
        const UprightBox b = write(w, 0, s.picture, nothing, 1);
        s.texts.push_back({{b.x, b.y, b.w, b.h}, w.text});
    }
    return s;
}

}  // namespace

std::vector<Scene> scenes(bool apart, bool with_photographs, std::uint64_t seed) {
    std::vector<Scene> out{skin(seed), paper(seed, apart)};
    for (const auto& p : photographs()) {
        if (p.apart != apart || !with_photographs) continue;
        cv::Mat3b picture = cv::imread(p.file);
        if (picture.empty()) continue;
        const double scale = 1000.0 / std::max(picture.cols, picture.rows);
        cv::resize(picture, picture, {}, scale, scale, cv::INTER_CUBIC);
        Scene s{"photograph", picture, {}, {}, true};
        for (const auto& f : p.faces) s.faces.emplace_back(cv::Point(static_cast<int>(f.x * scale), static_cast<int>(f.y * scale)), cv::Size(static_cast<int>(f.width * scale), static_cast<int>(f.height * scale)));
        out.push_back(std::move(s));
    }
    return out;
}

cv::Mat3b shown(const Scene& scene, cv::Size frame, double t, std::uint64_t seed, cv::Matx23d& into) {
    Chance chance(seed ^ 0x5CE);
    const double w = scene.picture.cols, h = scene.picture.rows;
    // Looks at a face or at words where there are any.
    cv::Point2d aim(w / 2, h / 2);
    if (!scene.faces.empty()) aim = cv::Point2d(scene.faces[0].x + scene.faces[0].width / 2.0, scene.faces[0].y + scene.faces[0].height / 2.0);
    const double fill = std::max(frame.width / w, frame.height / h), zoom = fill * chance.between(1.05f, 1.7f) * (1 + .06 * std::sin(1.1 * t));
    const double turn = chance.between(-.12f, .12f) + .05 * std::sin(.9 * t + 1);
    const double sway = .07 * w;
    cv::Point2d middle(aim.x + sway * std::sin(.8 * t + chance.unit() * 6), aim.y + .6 * sway * std::cos(.7 * t + chance.unit() * 6));
    const double half_w = frame.width / zoom / 2 * 1.02, half_h = frame.height / zoom / 2 * 1.02;
    middle.x = std::min(std::max(middle.x, std::min(half_w, w / 2)), std::max(w - half_w, w / 2));
    middle.y = std::min(std::max(middle.y, std::min(half_h, h / 2)), std::max(h - half_h, h / 2));
    const double c = zoom * std::cos(turn), s = zoom * std::sin(turn);
    into = {c, -s, frame.width / 2.0 - c * middle.x + s * middle.y, s, c, frame.height / 2.0 - s * middle.x - c * middle.y};
    cv::Mat3b out;
    cv::warpAffine(scene.picture, out, into, frame, cv::INTER_LINEAR, cv::BORDER_REFLECT);
    return out;
}

UprightBox box_in_frame(const cv::Rect& box, const cv::Matx23d& into, cv::Size frame) {
    double left = 1e9, top = 1e9, right = -1e9, bottom = -1e9;
    for (const auto& corner : {box.tl(), box.br(), cv::Point(box.x, box.br().y), cv::Point(box.br().x, box.y)}) {
        const double x = into(0, 0) * corner.x + into(0, 1) * corner.y + into(0, 2), y = into(1, 0) * corner.x + into(1, 1) * corner.y + into(1, 2);
        left = std::min(left, x), top = std::min(top, y), right = std::max(right, x), bottom = std::max(bottom, y);
    }
    const UprightBox b{static_cast<int>(std::floor(left)), static_cast<int>(std::floor(top)), static_cast<int>(std::ceil(right) - std::floor(left)), static_cast<int>(std::ceil(bottom) - std::floor(top))};
    return common(b, UprightBox{0, 0, frame.width, frame.height});
}

}  // namespace canalogue::demo::labelled
