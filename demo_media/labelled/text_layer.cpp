#include "demo_media/labelled/text_layer.hpp"

#include <cmath>
#include <ctime>
#include <opencv2/imgproc.hpp>

#include "demo_media/labelled/lettering.hpp"

namespace canalogue::demo::labelled {

namespace {

// Below this much of the ink's colour (of 255) a pixel does not belong to the text: nobody sees it.
constexpr int kSeen = 32;
constexpr double kSlideSeconds = 0.4, kFadeSeconds = 0.8;

std::string clock_words(const std::string& pattern, std::int64_t seconds) {
    const std::time_t when = seconds;
    std::tm parts{};
    gmtime_r(&when, &parts);
    char text[64];
    std::strftime(text, sizeof text, pattern.c_str(), &parts);
    return text;
}

cv::Mat1b padded(const cv::Mat1b& mask, int edge) {
    cv::Mat1b out;
    cv::copyMakeBorder(mask, out, edge, edge, edge, edge, cv::BORDER_CONSTANT, cv::Scalar(0));
    return out;
}

// Outline or shadow of a glyph mask that has room around it.
cv::Mat1b under_ink(const cv::Mat1b& glyph, Ink ink, int height) {
    const int reach = std::max(1, height / 14);
    cv::Mat1b out;
    if (ink == Ink::outlined) {
        cv::dilate(glyph, out, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * reach + 1, 2 * reach + 1}));
        return out;
    }
    const cv::Matx23d shift(1, 0, reach + 1, 0, 1, reach + 1);
    cv::warpAffine(glyph, out, shift, glyph.size(), cv::INTER_LINEAR, cv::BORDER_CONSTANT);
    cv::GaussianBlur(out, out, {}, 0.5 + reach * 0.4);
    return out;
}

bool is_bottom(Slot s) { return s == Slot::bottom_left || s == Slot::bottom_right || s == Slot::bottom; }

double shown_part(const TextItem& item, double t, double ramp) {
    return std::clamp(std::min(t - item.start, item.end - t) / ramp, 0.0, 1.0);
}

void blend(cv::Mat3b frame, const cv::Mat3b& colour, const cv::Mat1b& alpha, int strength) {
    for (int y = 0; y < frame.rows; ++y)
        for (int x = 0; x < frame.cols; ++x) {
            const int a = alpha(y, x) * strength / 255;
            if (a == 0) continue;
            for (int i = 0; i < 3; ++i)
                frame(y, x)[i] = std::uint8_t((frame(y, x)[i] * (255 - a) + colour(y, x)[i] * a + 127) / 255);
        }
}

}  // namespace

TextLayer::Stamp TextLayer::stamp_of(const TextItem& item, const std::string& words) const {
    const int edge = std::max(3, item.height / 4);
    cv::Mat1b glyph = padded(lettered(words, {item.font, item.bold, item.height}), edge);
    if (item.soft) cv::GaussianBlur(glyph, glyph, {}, 0.9, 0.4);
    Stamp s;
    s.colour = cv::Mat3b(glyph.size(), item.under), s.ink = glyph.clone();
    s.alpha = cv::Mat1b(glyph.size(), std::uint8_t(item.ink == Ink::boxed ? 200 : 0));
    if (item.ink == Ink::outlined || item.ink == Ink::shadowed) {
        s.alpha = under_ink(glyph, item.ink, item.height);
        const cv::Mat &glyphs = s.ink, &around = s.alpha;
        s.ink = cv::Mat(cv::max(glyphs, around));
    }
    for (int y = 0; y < glyph.rows; ++y)  // the glyph over what lies under it
        for (int x = 0; x < glyph.cols; ++x) {
            const int g = glyph(y, x), a = std::max(int(s.alpha(y, x)), g);
            if (g == 0) continue;
            for (int i = 0; i < 3; ++i)
                s.colour(y, x)[i] = std::uint8_t((item.colour[i] * g + item.under[i] * (a - g)) / a);
            s.alpha(y, x) = std::uint8_t(a);
        }
    s.alpha.convertTo(s.alpha, CV_8U, item.opacity), s.ink.convertTo(s.ink, CV_8U, item.opacity);
    if (item.turned)
        for (cv::Mat* m : {static_cast<cv::Mat*>(&s.colour), static_cast<cv::Mat*>(&s.alpha), static_cast<cv::Mat*>(&s.ink)})
            cv::rotate(*m, *m, cv::ROTATE_90_COUNTERCLOCKWISE);
    return s;
}

TextLayer::Line TextLayer::line_of(const TextItem& asked) const {
    TextItem item = asked;
    const cv::Size frame = recipe_.form.size;
    for (;; item.height -= 2) {
        Line line;
        if (!item.clock) {
            line.stamps.push_back(stamp_of(item, item.words));
        } else {
            for (int s = 0; s <= int(recipe_.seconds) + 1; ++s)
                line.stamps.push_back(stamp_of(item, clock_words(item.words, recipe_.starts_at + s)));
        }
        for (const Stamp& s : line.stamps)
            line.home.width = std::max(line.home.width, s.ink.cols), line.home.height = std::max(line.home.height, s.ink.rows);
        const bool fits = line.home.width < frame.width * 0.96 && line.home.height < frame.height * 0.9;
        if (fits || item.move == Move::scroll || item.height <= 8) return line;
    }
}

// Beside what stands there already: downwards from the top and the middle, upwards from the bottom.
void TextLayer::place(const TextItem& item, Line& line, std::vector<cv::Rect>& taken) const {
    const cv::Size f = recipe_.form.size;
    cv::Rect& h = line.home;
    const int edge = f.height / 60;
    const Slot s = item.slot;
    const bool left = s == Slot::top_left || s == Slot::bottom_left || s == Slot::left;
    const bool right = s == Slot::top_right || s == Slot::bottom_right || s == Slot::right;
    h.x = left ? edge : right ? f.width - h.width - edge : (f.width - h.width) / 2;
    const bool top = s == Slot::top_left || s == Slot::top_right || s == Slot::top;
    h.y = top ? edge : is_bottom(s) ? f.height - h.height - edge : (f.height - h.height) / 2;
    if (item.move == Move::scroll) h.x = 0;
    const cv::Rect lane = item.move == Move::scroll ? cv::Rect(0, h.y, f.width, h.height) : h;
    const cv::Rect begun = h;
    cv::Rect probe = lane;
    const auto free = [&] {
        return std::none_of(taken.begin(), taken.end(), [&](const cv::Rect& r) { return (r & probe).area() > 0; });
    };
    while (!free()) {
        probe.y += is_bottom(s) ? -2 : 2;
        if (probe.y < 0 || probe.y + probe.height > f.height) {
            probe.y = begun.y;  // no room left: it overlaps
            break;
        }
    }
    h.y = probe.y;
    taken.push_back(probe);
    if (item.move == Move::slide) line.away = right ? cv::Point2d(f.width - h.x, 0) : cv::Point2d(-h.x - h.width, 0);
}

TextLayer::TextLayer(const Recipe& recipe) : recipe_(recipe) {
    std::vector<cv::Rect> taken;
    for (const TextItem& item : recipe.text) {
        lines_.push_back(line_of(item));
        place(item, lines_.back(), taken);
    }
}

cv::Point TextLayer::origin(const TextItem& item, const Line& line, const Stamp& stamp, double t) const {
    const bool right = item.slot == Slot::top_right || item.slot == Slot::bottom_right || item.slot == Slot::right;
    cv::Point at = line.home.tl();
    if (right) at.x += line.home.width - stamp.ink.cols;
    if (item.move == Move::slide) {
        const double out = 1 - shown_part(item, t, kSlideSeconds);
        at.x += int(std::lround(line.away.x * out)), at.y += int(std::lround(line.away.y * out));
    }
    if (item.move == Move::scroll) {  // all of it passes in 12 s, again and again
        const double way = recipe_.form.size.width + stamp.ink.cols;
        at.x = recipe_.form.size.width - int(std::lround(std::fmod(t / 12 + 0.45, 1) * way));
    }
    return at;
}

std::vector<Place> TextLayer::draw(cv::Mat3b& frame, cv::Mat1b& labels, double t) const {
    std::vector<Place> out;
    for (std::size_t n = 0; n < lines_.size(); ++n) {
        const TextItem& item = recipe_.text[n];
        if (t < item.start || t >= item.end) continue;
        const Line& line = lines_[n];
        const Stamp& s = line.stamps[item.clock ? std::min(std::size_t(t + 1e-6), line.stamps.size() - 1) : 0];
        const cv::Point at = origin(item, line, s, t);
        const cv::Rect whole(at, s.ink.size()), seen = whole & cv::Rect({0, 0}, labels.size());
        if (seen.empty()) continue;
        const cv::Rect part = seen - at;
        const int strength = item.move == Move::fade ? int(std::lround(255 * shown_part(item, t, kFadeSeconds))) : 255;
        if (!frame.empty()) blend(frame(seen), s.colour(part), s.alpha(part), strength);
        cv::Mat1b ink;
        s.ink(part).convertTo(ink, CV_8U, strength / 255.0);
        cv::Mat1b written;
        cv::compare(ink, kSeen, written, cv::CMP_GE);
        labels(seen).setTo(kBurntIn, written);
        const cv::Rect tight = cv::boundingRect(written);
        if (!tight.empty()) out.push_back({int(n), tight + seen.tl()});
    }
    return out;
}

}  // namespace canalogue::demo::labelled
