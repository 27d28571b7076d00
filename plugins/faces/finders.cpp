#include "plugins/faces/finders.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "plugins/faces/following.hpp"

namespace canalogue::faces {

namespace {

constexpr const char* kSsd = "faces/ssd.onnx";
constexpr const char* kSoft = "faces/fullrange.onnx";
constexpr const char* kPeople = "faces/centernet.onnx";

// Least scores: measured on pictures of people and on stills of ears' insides, see docs/privacy.md.
constexpr float kLeastSsd = .5f, kLeastSoft = .5f, kLeastSoftDoubtful = .65f, kLeastPerson = .3f, kLeastPersonDoubtful = .4f;
constexpr int kSsdSide = 512, kSoftSide = 192, kPeopleSide = 512;
constexpr int kSsdTile = 720, kSoftTile = 480, kSmallTile = 320;
constexpr float kSameThing = .3f;  // share that two boxes have in common

// A picture padded to a square at its right and lower side, shrunk to `side`, as a tensor of factor * value + offset.
nets::Tensor tensor_of(const cv::Mat& rgb, int side, float factor, float offset) {
    const int longer = std::max(rgb.cols, rgb.rows);
    const double scale = static_cast<double>(side) / longer;
    const cv::Size inner(std::max(1, static_cast<int>(std::lround(rgb.cols * scale))), std::max(1, static_cast<int>(std::lround(rgb.rows * scale))));
    cv::Mat small, square = cv::Mat::zeros(side, side, CV_8UC3);
    cv::resize(rgb, small, inner, 0, 0, scale < 1 ? cv::INTER_AREA : cv::INTER_LINEAR);
    small.copyTo(square(cv::Rect({0, 0}, inner)));
    const auto plane = static_cast<std::size_t>(side) * side;
    nets::Tensor out{std::vector<float>(plane * 3), {1, 3, side, side}};
    for (std::size_t i = 0; i < plane; ++i) {
        const auto* p = square.ptr<std::uint8_t>() + i * 3;
        for (std::size_t c = 0; c < 3; ++c) out.values[c * plane + i] = factor * static_cast<float>(p[c]) + offset;
    }
    return out;
}

// The best of overlapping boxes of one net.
std::vector<Seen> without_doubles(std::vector<Seen> all) {
    std::sort(all.begin(), all.end(), [](const Seen& a, const Seen& b) { return a.score > b.score; });
    std::vector<Seen> out;
    for (const auto& s : all) {
        const bool doubled = std::any_of(out.begin(), out.end(), [&](const Seen& o) {
            const float both = (o.box & s.box).area();
            return both > .4f * (o.box.area() + s.box.area() - both);
        });
        if (!doubled) out.push_back(s);
    }
    return out;
}

// Adds boxes of a part of the picture. One that touches an inner edge of its part is cut: another part holds it.
void add_from_part(std::vector<Seen> found, cv::Size part, cv::Point at, cv::Size whole, std::vector<Seen>& out) {
    for (auto& s : without_doubles(std::move(found))) {
        const bool cut = (s.box.x < 1 && at.x > 0) || (s.box.y < 1 && at.y > 0) || (s.box.br().x > static_cast<float>(part.width - 1) && at.x + part.width < whole.width) ||
                         (s.box.br().y > static_cast<float>(part.height - 1) && at.y + part.height < whole.height);
        if (cut) continue;
        s.box += cv::Point2f(at);
        s.box &= cv::Rect2f(0, 0, static_cast<float>(whole.width), static_cast<float>(whole.height));
        if (s.box.area() > 0) out.push_back(s);
    }
}

cv::Size whole_of(const cv::Mat& part) {
    cv::Size whole;
    cv::Point at;
    part.locateROI(whole, at);
    return whole;
}

}  // namespace

Finders::Finders(const std::string& models_dir) : ssd_(models_dir, kSsd), soft_(models_dir, kSoft), people_(models_dir, kPeople) {}

std::vector<std::string> Finders::files() { return {kSsd, kSoft, kPeople}; }

void Finders::find_ssd(const cv::Mat& part, cv::Point at, std::vector<Seen>& out) {
    const auto input = tensor_of(part, kSsdSide, 1 / 127.5f, -1);
    const auto got = ssd_.run({{"picture", &input}}, {"boxes", "scores"});
    const auto longer = static_cast<float>(std::max(part.cols, part.rows));
    std::vector<Seen> found;
    for (std::size_t i = 0; i < got[1].values.size(); ++i) {
        if (got[1].values[i] < kLeastSsd) continue;
        const float* b = &got[0].values[i * 4];
        found.push_back({{b[1] * longer, b[0] * longer, (b[3] - b[1]) * longer, (b[2] - b[0]) * longer}, got[1].values[i], false, SeenBy::ssd});
    }
    add_from_part(std::move(found), part.size(), at, whole_of(part), out);
}

// The net has one place for each cell of 48 by 48; a box is told by its middle's distance from the cell's and its
// size, in pixels of the net's picture.
void Finders::find_soft(const cv::Mat& part, cv::Point at, float least, std::vector<Seen>& out) {
    constexpr int kCells = 48;
    constexpr float kCell = static_cast<float>(kSoftSide) / kCells;
    const auto input = tensor_of(part, kSoftSide, 1 / 127.5f, -1);
    const auto got = soft_.run({{"picture", &input}}, {"boxes", "scores"});
    const float scale = static_cast<float>(std::max(part.cols, part.rows)) / kSoftSide;
    std::vector<Seen> found;
    for (int i = 0; i < kCells * kCells; ++i) {
        const float score = 1 / (1 + std::exp(-got[1].values[static_cast<std::size_t>(i)]));
        if (score < least) continue;
        const float* b = &got[0].values[static_cast<std::size_t>(i) * 16];
        const float x = (static_cast<float>(i % kCells) + .5f) * kCell + b[0], y = (static_cast<float>(i / kCells) + .5f) * kCell + b[1];
        found.push_back({{(x - b[2] / 2) * scale, (y - b[3] / 2) * scale, b[2] * scale, b[3] * scale}, score, false, SeenBy::soft});
    }
    add_from_part(std::move(found), part.size(), at, whole_of(part), out);
}

void Finders::find_people(const cv::Mat& rgb, float least, std::vector<Seen>& out) {
    constexpr int kCells = 128;
    constexpr float kCell = static_cast<float>(kPeopleSide) / kCells;
    const auto input = tensor_of(rgb, kPeopleSide, 1, 0);
    const auto got = people_.run({{"picture", &input}}, {"heat", "reach"});
    const cv::Mat heat(kCells, kCells, CV_32F, const_cast<float*>(got[0].values.data()));  // the first class is "person"
    cv::Mat highest;
    cv::dilate(heat, highest, cv::Mat::ones(3, 3, CV_8U));
    const float scale = static_cast<float>(std::max(rgb.cols, rgb.rows)) / kPeopleSide;
    std::vector<Seen> found;
    for (int y = 0; y < kCells; ++y)
        for (int x = 0; x < kCells; ++x) {
            const float score = heat.at<float>(y, x);
            if (score < least || score < highest.at<float>(y, x)) continue;
            const auto reach = [&](std::size_t side) { return got[1].values[(side * kCells + static_cast<std::size_t>(y)) * kCells + static_cast<std::size_t>(x)]; };
            const float cx = static_cast<float>(x) * kCell, cy = static_cast<float>(y) * kCell;
            found.push_back({{(cx - reach(0)) * scale, (cy - reach(1)) * scale, (reach(0) + reach(2)) * scale, (reach(1) + reach(3)) * scale}, score, true, SeenBy::people});
        }
    add_from_part(std::move(found), rgb.size(), {0, 0}, rgb.size(), out);
}

// A face that fills the picture, or leaves it, is too large for the nets: they see it in a frame of grey.
void Finders::find_in_frame(const cv::Mat& rgb, float least, bool quick, std::vector<Seen>& out) {
    const int x = rgb.cols / 3, y = rgb.rows / 3;
    cv::Mat framed;
    cv::copyMakeBorder(rgb, framed, y, y, x, x, cv::BORDER_CONSTANT, cv::mean(rgb));
    std::vector<Seen> found;
    find_soft(framed, {0, 0}, least, found);
    find_ssd(framed, {0, 0}, found);
    if (!quick) find_people(framed, kLeastPerson, found);
    for (auto& s : found) {
        s.box -= cv::Point2f(static_cast<float>(x), static_cast<float>(y));
        s.box &= cv::Rect2f(0, 0, static_cast<float>(rgb.cols), static_cast<float>(rgb.rows));
        if (s.box.area() > 0) out.push_back(s);
    }
}

std::vector<Seen> Finders::find(const cv::Mat& rgb, View view, bool quick) {
    const bool outside = view == View::outside;
    const float least = outside ? kLeastSoft : kLeastSoftDoubtful;
    std::vector<Seen> out;
    find_ssd(rgb, {0, 0}, out);
    find_soft(rgb, {0, 0}, least, out);
    if (!quick) find_people(rgb, outside ? kLeastPerson : kLeastPersonDoubtful, out);
    const auto in_tiles = [&](int side, auto look) {
        if (side >= std::max(rgb.cols, rgb.rows)) return;
        for (const auto& tile : tiles(rgb.size(), side)) look(rgb(tile), tile.tl());
    };
    in_tiles(kSoftTile, [&](const cv::Mat& part, cv::Point at) { find_soft(part, at, least, out); });
    if (view == View::inside) return joined(agreed(std::move(out)));
    if (outside) find_in_frame(rgb, least, quick, out);
    if (quick) return joined(std::move(out));
    in_tiles(kSsdTile, [&](const cv::Mat& part, cv::Point at) { find_ssd(part, at, out); });
    if (outside) in_tiles(kSmallTile, [&](const cv::Mat& part, cv::Point at) { find_soft(part, at, least, out); });
    return joined(std::move(out));
}

std::vector<Seen> joined(std::vector<Seen> seen) {
    for (bool again = true; again;) {
        again = false;
        for (std::size_t i = 0; i < seen.size() && !again; ++i)
            for (std::size_t j = i + 1; j < seen.size() && !again; ++j) {
                if (seen[i].person != seen[j].person) continue;
                const float both = (seen[i].box & seen[j].box).area();
                if (both < kSameThing * std::min(seen[i].box.area(), seen[j].box.area())) continue;
                seen[i].box |= seen[j].box;
                seen[i].score = std::max(seen[i].score, seen[j].score);
                seen.erase(seen.begin() + static_cast<std::ptrdiff_t>(j));
                again = true;
            }
    }
    return seen;
}

std::vector<cv::Rect> tiles(cv::Size picture, int side) {
    const auto starts = [side](int length) {
        std::vector<int> out;
        for (int at = 0;; at += side * 3 / 4) {
            out.push_back(std::max(0, std::min(at, length - side)));
            if (at + side >= length) return out;
        }
    };
    std::vector<cv::Rect> out;
    for (const int y : starts(picture.height))
        for (const int x : starts(picture.width)) out.push_back(cv::Rect(x, y, side, side) & cv::Rect({0, 0}, picture));
    return out;
}

}  // namespace canalogue::faces
