#include "plugins/burnt_text/sightings.hpp"

#include <algorithm>
#include <tuple>

namespace canalogue::burnt_text {

namespace {

constexpr float kSameHeight = 2.5f;  // lines of more different heights are not one line
constexpr float kSameThickness = 3;  // lines of more different short sides are not one line, even one over the other
constexpr float kThickerPiece = 2, kMostly = .6f;
constexpr float kStillHull = 2.2f;   // a line whose places together are larger than this moves
constexpr float kThicker = 1.45f;    // two that together are thicker than this, of the thicker one, are two

float shared(float a, float a_size, float b, float b_size) {
    return std::min(a + a_size, b + b_size) - std::max(a, b);
}

// Side by side along one axis: x when `level`, else y.
bool beside(cv::Rect2f a, cv::Rect2f b, bool level) {
    if (!level) {
        a = {a.y, a.x, a.height, a.width};
        b = {b.y, b.x, b.height, b.width};
    }
    const float high = std::max(a.height, b.height), low = std::min(a.height, b.height);
    const float gap = -shared(a.x, a.width, b.x, b.width);
    return high <= kSameHeight * low && gap <= low && shared(a.y, a.height, b.y, b.height) >= low / 2;
}

// One runs level, the other upright.
bool across(const cv::Rect2f& a, const cv::Rect2f& b) {
    constexpr float kClearly = 1.8f;
    const auto level = [](const cv::Rect2f& r) { return r.width > kClearly * r.height; };
    const auto upright = [](const cv::Rect2f& r) { return r.height > kClearly * r.width; };
    return (level(a) && upright(b)) || (upright(a) && level(b));
}

void add(Line& line, const Sight& sight) {
    line.hull = line.sights.empty() ? sight.box : line.hull | sight.box;
    line.start_ns = line.sights.empty() ? sight.start_ns : std::min(line.start_ns, sight.start_ns);
    line.end_ns = line.sights.empty() ? sight.end_ns : std::max(line.end_ns, sight.end_ns);
    line.sights.push_back(sight);
}

bool near_in_time(const Line& line, std::int64_t start_ns, std::int64_t end_ns, std::int64_t patience_ns) {
    return start_ns - line.end_ns <= patience_ns && line.start_ns - end_ns <= patience_ns;
}

float thickness(const cv::Rect2f& r) { return std::min(r.width, r.height); }

// A line grows along its length: parts of a page that is held askew would swallow the whole of it.
bool no_thicker(const cv::Rect2f& a, const cv::Rect2f& b) { return thickness(a | b) <= kThicker * std::max(thickness(a), thickness(b)); }

float length(const cv::Rect2f& r) { return std::max(r.width, r.height); }

// Whether a line at rest may reach over `hull`: what scrolls past is not one long line.
bool within_reach(const Line& line, const cv::Rect2f& hull, const cv::Rect2f& sight) {
    float longest = length(sight);
    for (const auto& s : line.sights) longest = std::max(longest, length(s.box));
    return length(hull) <= kStillHull * longest;
}

// The median of a measure of its boxes.
float usual(const Line& line, float (*measure)(const cv::Rect2f&)) {
    std::vector<float> all;
    for (const auto& s : line.sights) all.push_back(measure(s.box));
    const auto middle = all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2);
    std::nth_element(all.begin(), middle, all.end());
    return *middle;
}

float usual_thickness(const Line& line) { return usual(line, thickness); }

// A piece that lies mostly in the line is of it, even where it was drawn a little thicker.
float thickest(const Line& line, const cv::Rect2f& hull, const cv::Rect2f& piece) {
    const bool within = piece.area() < hull.area() && (piece & hull).area() >= kMostly * piece.area();
    return (within ? kThickerPiece : kThicker) * usual_thickness(line);
}

bool spans_time(const Sight& sight) { return sight.end_ns > sight.start_ns; }

// Whether the sight carries on the line: where it was last seen, or anywhere on a line at rest. What
// was seen over some time says nothing about a line that moved meanwhile.
bool carries_on(const Line& line, const Sight& sight) {
    // What a glint inside and a label outside have in common is no more than a place.
    constexpr std::int64_t kMissedOnce = 1'100'000'000;
    const auto& before = line.sights.back();
    if (before.inside != sight.inside && !spans_time(before) && !spans_time(sight) && sight.start_ns - before.end_ns > kMissedOnce) return false;
    if (line.still() && one_line(line.hull, sight.box) && thickness(line.hull | sight.box) <= thickest(line, line.hull, sight.box) &&
        within_reach(line, line.hull | sight.box, sight.box))
        return true;
    if (spans_time(sight) || spans_time(line.sights.back())) return false;
    const auto& last = line.sights.back().box;
    const float thick = thickness(last), now = thickness(sight.box);
    return std::max(thick, now) <= kThicker * std::min(thick, now) && one_line(last, sight.box);
}

void merge(Line& into, Line&& from) {
    for (const auto& sight : from.sights) add(into, sight);
    into.rests = true;
    std::stable_sort(into.sights.begin(), into.sights.end(),
                     [](const auto& a, const auto& b) { return a.start_ns < b.start_ns; });
}

// Lines at rest that turn out to be parts of one, as when a clock was first found in two pieces.
bool merge_one_pair(std::vector<Line>& lines, std::int64_t patience_ns) {
    for (std::size_t i = 0; i < lines.size(); ++i)
        for (std::size_t k = i + 1; k < lines.size(); ++k) {
            auto &a = lines[i], &b = lines[k];
            const bool at_rest = a.still() && b.still() && near_in_time(a, b.start_ns, b.end_ns, patience_ns);
            if (!at_rest || !one_line(a.hull, b.hull) || thickness(a.hull | b.hull) > std::max(thickest(a, a.hull, b.hull), thickest(b, b.hull, a.hull))) continue;
            merge(a, std::move(b));
            lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(k));
            return true;
        }
    return false;
}

std::vector<Line> linked(std::vector<Sight> sights, std::int64_t patience_ns) {
    // First what was seen in single pictures: it tells which lines move.
    std::stable_sort(sights.begin(), sights.end(), [](const auto& a, const auto& b) {
        return std::pair(spans_time(a), a.start_ns) < std::pair(spans_time(b), b.start_ns);
    });
    std::vector<Line> lines;
    for (const auto& sight : sights) {
        const auto line = std::find_if(lines.begin(), lines.end(), [&](const Line& l) {
            return near_in_time(l, sight.start_ns, sight.end_ns, patience_ns) && carries_on(l, sight);
        });
        auto& joined_by = line == lines.end() ? lines.emplace_back() : *line;
        add(joined_by, sight);
        joined_by.rests = joined_by.rests || spans_time(sight);
    }
    while (merge_one_pair(lines, patience_ns)) {
    }
    return lines;
}

// What passed behind a line at rest and was taken for it: sights much larger than it usually is, outside, of a line that is
// seen inside as well.
void part_with_strangers(Line& line, std::vector<Sight>& strangers) {
    constexpr std::size_t kEnoughToTell = 4;
    const bool inside = std::any_of(line.sights.begin(), line.sights.end(), [](const Sight& s) { return s.inside; });
    if (!inside || !line.still() || line.sights.size() < kEnoughToTell) return;
    const float thick = usual_thickness(line), reach = usual(line, length);
    Line own;
    own.rests = line.rests;
    for (auto& sight : line.sights) {
        const bool stranger = !sight.inside && (thickness(sight.box) > kThicker * thick || length(sight.box) > kStillHull * reach);
        if (stranger) strangers.push_back(std::move(sight));
        else add(own, sight);
    }
    line = std::move(own);
}

}  // namespace

bool one_line(const cv::Rect2f& a, const cv::Rect2f& b) {
    // A page that passes behind a burnt-in line does not become part of it.
    if (std::max(thickness(a), thickness(b)) > kSameThickness * std::min(thickness(a), thickness(b))) return false;
    const float overlap = (a & b).area();
    // Lines that run across one another meet in a few letters: they are one only where one lies in the other.
    const float enough = across(a, b) ? .85f : .3f;
    if (overlap > enough * std::min(a.area(), b.area())) return true;
    const bool a_level = a.width >= a.height, b_level = b.width >= b.height;
    // A single letter is as high as wide: it follows its neighbour.
    return (a_level || b_level) ? beside(a, b, true) : beside(a, b, false);
}

bool Line::still() const {
    if (rests) return true;
    float largest = 0;
    for (const auto& s : sights) largest = std::max(largest, s.box.area());
    return hull.area() <= kStillHull * largest;
}

bool Line::whole(const Sight& sight) const { return length(sight.box) >= kMostly * length(hull); }

const Sight& Line::surest() const {
    return *std::max_element(sights.begin(), sights.end(), [&](const Sight& a, const Sight& b) {
        return std::tuple(!a.crop.empty(), !still() || whole(a), a.sureness) < std::tuple(!b.crop.empty(), !still() || whole(b), b.sureness);
    });
}

Line part_of(const Line& line, std::int64_t before_ns, std::int64_t first_ns, std::int64_t last_ns, std::int64_t after_ns) {
    Line part{{}, line.hull, before_ns, after_ns, true};
    for (const auto& sight : line.sights)
        if (sight.end_ns >= first_ns && sight.start_ns <= last_ns) part.sights.push_back(sight);
    return part;
}

std::vector<Sight> joined(std::vector<Sight> sights) {
    for (bool again = true; again;) {
        again = false;
        for (std::size_t i = 0; i < sights.size() && !again; ++i)
            for (std::size_t k = i + 1; k < sights.size() && !again; ++k) {
                if (!one_line(sights[i].box, sights[k].box) || !no_thicker(sights[i].box, sights[k].box)) continue;
                sights[i].box |= sights[k].box;
                sights[i].sureness = std::max(sights[i].sureness, sights[k].sureness);
                sights.erase(sights.begin() + static_cast<std::ptrdiff_t>(k));
                again = true;
            }
    }
    return sights;
}

std::vector<Line> followed(std::vector<Sight> sights, std::int64_t patience_ns) {
    auto lines = linked(std::move(sights), patience_ns);
    std::vector<Sight> strangers;
    for (auto& line : lines) part_with_strangers(line, strangers);
    for (auto& line : linked(std::move(strangers), patience_ns)) lines.push_back(std::move(line));
    return lines;
}

std::vector<Line> without_inside(Line line, const std::vector<std::int64_t>& surely_inside) {
    if (std::any_of(line.sights.begin(), line.sights.end(), [](const Sight& s) { return s.inside; })) return {std::move(line)};
    std::vector<Line> out;
    std::stable_sort(line.sights.begin(), line.sights.end(), [](const auto& a, const auto& b) { return a.start_ns < b.start_ns; });
    for (auto& sight : line.sights) {
        const auto between = out.empty() ? surely_inside.end() : std::lower_bound(surely_inside.begin(), surely_inside.end(), out.back().end_ns);
        if (out.empty() || (between != surely_inside.end() && *between < sight.start_ns)) out.push_back({{}, {}, 0, 0, line.rests});
        add(out.back(), sight);
    }
    return out;
}

}  // namespace canalogue::burnt_text
