#include "export/pointing.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

namespace canalogue::film {

namespace {

constexpr double kTextSize = 26, kLine = 4, kEdge = 9;  // pixels at 720 lines: the amber line and the dark one under it
constexpr double kShaft = 96;                            // of an arrow

struct Spot {
    double x, y;  // pixels of the frame
};

Spot in_frame(const Passage& p, const PictureArea& a, double x, double y) {
    const auto [u, v] = in_view(p.view, a.window, static_cast<double>(a.w) / a.h, x, y);
    return {a.x + u * a.w, a.y + v * a.h};
}

bool inside(const PictureArea& a, Spot s) { return s.x >= a.x && s.y >= a.y && s.x < a.x + a.w && s.y < a.y + a.h; }

// 0..1: fades in over kPointerFade of the film after it begins, and out before it ends.
double strength(const Pointer& p, PassageInstant now) {
    if (now.t < p.from || now.t > p.until) return 0;
    if (now.pace <= 0) return 1;
    const double fade = static_cast<double>(kPointerFade) * now.pace;
    return std::clamp(std::min(static_cast<double>(now.t - p.from), static_cast<double>(p.until - now.t)) / fade + 0.1, 0.0, 1.0);
}

// A drawing of a part of the frame, laid on it at the end.
class Sheet {
  public:
    Sheet(double x, double y, double w, double h) : x_(static_cast<int>(std::floor(x)) & ~1), y_(static_cast<int>(std::floor(y)) & ~1), canvas_(Size{(static_cast<int>(w) + 3) & ~1, (static_cast<int>(h) + 3) & ~1}) {
        cairo_translate(canvas_.cairo(), -x_, -y_);
        cairo_push_group(canvas_.cairo());
    }
    cairo_t* cairo() { return canvas_.cairo(); }
    Canvas& canvas() { return canvas_; }
    void lay_on(AVFrame& frame, double alpha) {
        cairo_pop_group_to_source(canvas_.cairo());
        cairo_paint_with_alpha(canvas_.cairo(), alpha);
        Overlay(canvas_).lay_on(frame, x_, y_);
    }

  private:
    int x_, y_;
    Canvas canvas_;
};

void colour(cairo_t* c, Rgb rgb, double alpha = 1) { cairo_set_source_rgba(c, rgb.r / 255.0, rgb.g / 255.0, rgb.b / 255.0, alpha); }

// The path that is set, in amber on a dark edge: seen on bright wax and on black alike.
void stroke(cairo_t* c, double scale) {
    cairo_set_line_cap(c, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_join(c, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_width(c, kEdge * scale);
    colour(c, kInk);
    cairo_stroke_preserve(c);
    cairo_set_line_width(c, kLine * scale);
    colour(c, kAmber);
    cairo_stroke(c);
}

// Towards the middle of the picture, where there is room for words and shafts: right of what lies left of it.
double side_of(const PictureArea& a, Spot s) { return s.x < a.x + a.w * 0.55 ? 1 : -1; }

void arrow(cairo_t* c, Spot tip, Spot tail, double side, double scale) {
    const double head = 26 * scale, ux = side * 0.8, uy = 0.6;
    cairo_move_to(c, tail.x, tail.y);
    cairo_line_to(c, tip.x, tip.y);
    for (const double turn : {0.45, -0.45}) {
        const double cx = ux * std::cos(turn) - uy * std::sin(turn), cy = ux * std::sin(turn) + uy * std::cos(turn);
        cairo_move_to(c, tip.x, tip.y);
        cairo_line_to(c, tip.x + cx * head, tip.y + cy * head);
    }
    stroke(c, scale);
}

void around(cairo_t* c, PointerShape shape, Spot middle, double w, double h, double scale) {
    if (shape == PointerShape::ring) {
        cairo_save(c);
        cairo_translate(c, middle.x, middle.y);
        cairo_scale(c, std::max(6.0, w / 2), std::max(6.0, h / 2));
        cairo_new_sub_path(c);
        cairo_arc(c, 0, 0, 1, 0, 2 * M_PI);
        cairo_restore(c);
    } else cairo_rectangle(c, middle.x - w / 2, middle.y - h / 2, w, h);
    stroke(c, scale);
}

// A pointer that can be seen now: where it points, and how far its shape reaches from there.
struct Seen {
    const Pointer* pointer;
    Spot at;
    double w, h, side, reach;
    Spot tail() const { return {at.x + side * 0.8 * reach, at.y + 0.6 * reach}; }
};

std::vector<Seen> seen(const Passage& passage, PassageInstant now, const PictureArea& a, double scale) {
    std::vector<Seen> out;
    for (const auto& p : passage.pointers) {
        if (strength(p, now) <= 0) continue;
        const PointerStep step = place_at(p, now.t);
        const Spot at = in_frame(passage, a, step.x, step.y);
        if (!inside(a, at)) continue;  // out of a close-up's window
        const double w = p.w / a.window.w * a.w, h = p.h / a.window.h * a.h;
        const double reach = p.shape == PointerShape::arrow ? kShaft * scale : p.shape == PointerShape::words ? 0 : std::min(w, h) / 2;
        // By where it begins: words that change sides while they are read are not read.
        const Spot first = p.path.empty() ? at : in_frame(passage, a, p.path.front().x, p.path.front().y);
        out.push_back({&p, at, w, h, side_of(a, first), reach});
    }
    return out;
}

bool overlap(const WordsPlace& p, const WordsPlace& q) { return p.x < q.x + q.w && q.x < p.x + p.w && p.y < q.y + q.h && q.y < p.y + p.h; }

// What a pointer's shape takes up, for the words of the others.
WordsPlace taken_by(const Seen& s) {
    if (s.pointer->shape != PointerShape::arrow) return {s.at.x - s.w / 2, s.at.y - s.h / 2, s.w, s.h};
    const Spot tail = s.tail();
    return {std::min(s.at.x, tail.x), s.at.y, std::abs(tail.x - s.at.x), tail.y - s.at.y};
}

TextStyle style_of_words(const PictureArea& a, double scale) { return {kTextSize * scale, true, kMist, Align::left, static_cast<int>(a.w * 0.4)}; }

// At the arrow's tail, or beside the shape a little lower; further up or down where something stands already.
WordsPlace place_words(const Seen& s, const PictureArea& a, const std::vector<WordsPlace>& taken, double scale) {
    const Size need = Canvas::measure(s.pointer->text, style_of_words(a, scale));
    const double pad = 10 * scale, w = need.w + 2 * pad, h = need.h + pad;
    const bool arrow = s.pointer->shape == PointerShape::arrow;
    const double end = arrow ? s.tail().x : s.at.x + s.side * (s.reach + 40 * scale), middle = arrow ? s.tail().y : s.at.y + 48 * scale;
    const double x = std::clamp(s.side > 0 ? end : end - w, a.x + pad, std::max(a.x + pad, a.x + a.w - w - pad));
    const auto at = [&](double y) { return WordsPlace{x, std::clamp(y, a.y + pad, std::max(a.y + pad, a.y + a.h - h - pad)), w, h}; };
    constexpr int kTries = 12;
    for (int i = 0; i <= 2 * kTries; ++i) {
        const double away = (i + 1) / 2 * (i % 2 ? 0.5 : -0.5) * (h + 6 * scale);
        const WordsPlace tried = at(middle - h / 2 + away);
        if (std::none_of(taken.begin(), taken.end(), [&](const WordsPlace& t) { return overlap(t, tried); })) return tried;
    }
    return at(middle - h / 2);
}

void words(Sheet& sheet, const Seen& s, const WordsPlace& p, const PictureArea& a, double scale) {
    const Spot from = s.tail(), to{std::clamp(from.x, p.x, p.x + p.w), s.pointer->shape == PointerShape::arrow ? std::clamp(from.y, p.y, p.y + p.h) : p.y + p.h / 2};
    // An arrow that ends at its words needs no line to them.
    if (std::hypot(to.x - from.x, to.y - from.y) > 3 * scale) {
        cairo_move_to(sheet.cairo(), from.x, from.y);
        cairo_line_to(sheet.cairo(), to.x, to.y);
        stroke(sheet.cairo(), scale * 0.6);
    }
    sheet.canvas().box(p.x, p.y, p.w, p.h, kInk, 1, 6 * scale);
    sheet.canvas().text(p.x + 10 * scale, p.y + 5 * scale, s.pointer->text, style_of_words(a, scale));
}

void draw(AVFrame& frame, const Seen& s, const std::optional<WordsPlace>& place, PassageInstant now, const PictureArea& a, double scale) {
    const Pointer& p = *s.pointer;
    Sheet sheet(a.x, a.y, a.w, a.h);
    if (p.shape == PointerShape::arrow) arrow(sheet.cairo(), s.at, s.tail(), s.side, scale);
    else if (p.shape != PointerShape::words) around(sheet.cairo(), p.shape, s.at, s.w, s.h, scale);
    if (place) words(sheet, s, *place, a, scale);
    sheet.lay_on(frame, strength(p, now));
}

// The dial and what it says, in the corner where the picture of a scope is darkest.
struct Dial {
    std::string said;
    TextStyle style;
    Size need;
    double r, pad;
    WordsPlace box;
};

const Place* place_now(const Passage& passage, PassageInstant now) {
    const auto it = std::find_if(passage.places.begin(), passage.places.end(), [&](const Place& p) { return p.from <= now.t && now.t <= p.until; });
    return it == passage.places.end() ? nullptr : &*it;
}

Dial dial_of(const Passage& passage, const Place& p, const PictureArea& a, double scale) {
    Dial d;
    d.said = std::string(passage.ear == Ear::right ? "Right ear" : "Left ear") + ", " + std::to_string(p.clock) + " o'clock" + (p.depth.empty() ? "" : ", " + p.depth);
    d.style = {20 * scale, true, kMist};
    d.need = Canvas::measure(d.said, d.style);
    d.r = 56 * scale, d.pad = 12 * scale;
    const double w = std::max(2 * d.r, static_cast<double>(d.need.w)) + 2 * d.pad, h = 2 * d.r + d.need.h + 3 * d.pad;
    d.box = {a.x + a.w - w - 20 * scale, a.y + a.h - h - 20 * scale, w, h};
    return d;
}

// How far from the dial's middle each depth lies: the drum is in the middle of the view.
double radius_of(const std::string& depth) { return depth == "deep" ? 0.36 : depth == "middle" ? 0.6 : 0.84; }

}  // namespace

std::vector<std::optional<WordsPlace>> places_of_words(const Passage& passage, PassageInstant now, const PictureArea& area, double scale) {
    const auto all = seen(passage, now, area, scale);
    std::vector<WordsPlace> words_taken;
    if (const Place* p = place_now(passage, now)) words_taken.push_back(dial_of(passage, *p, area, scale).box);
    std::vector<std::optional<WordsPlace>> out;
    for (std::size_t i = 0; i < all.size(); ++i) {
        out.emplace_back();
        if (all[i].pointer->text.empty()) continue;
        std::vector<WordsPlace> taken = words_taken;
        for (std::size_t k = 0; k < all.size(); ++k)
            if (k != i) taken.push_back(taken_by(all[k]));
        out.back() = place_words(all[i], area, taken, scale);
        words_taken.push_back(*out.back());
    }
    return out;
}

void draw_pointers(AVFrame& frame, const Passage& passage, PassageInstant now, const PictureArea& area, double scale) {
    const auto all = seen(passage, now, area, scale);
    const auto places = places_of_words(passage, now, area, scale);
    for (std::size_t i = 0; i < all.size(); ++i) draw(frame, all[i], places[i], now, area, scale);
}

void draw_places(AVFrame& frame, const Passage& passage, PassageInstant now, const PictureArea& a, double scale) {
    const Place* shown = place_now(passage, now);  // one dial at a time
    if (!shown) return;
    const Place& p = *shown;
    const auto [said, style, need, r, pad, box] = dial_of(passage, p, a, scale);
    const auto [x, y, w, h] = box;
    Sheet sheet(x, y, w, h);
    cairo_t* c = sheet.cairo();
    sheet.canvas().box(x, y, w, h, kInk, 1, 8 * scale);
    const double mx = x + w / 2, my = y + pad + r;
    for (const double share : {1.0, 0.72, 0.48}) {  // where outer, middle and deep begin
        cairo_new_path(c);
        cairo_arc(c, mx, my, r * share, 0, 2 * M_PI);
        colour(c, kDim, share == 1.0 ? 1 : 0.6);
        cairo_set_line_width(c, (share == 1.0 ? 2.5 : 1.2) * scale);
        cairo_stroke(c);
    }
    // The dial lies as the picture does: mirrored and turned with it.
    const auto direction = [&](int hour) {
        const double angle = hour * M_PI / 6;
        const auto [u, v] = in_view(passage.view, {}, 1, 0.5 + 0.5 * std::sin(angle), 0.5 - 0.5 * std::cos(angle));
        return Spot{2 * u - 1, 2 * v - 1};
    };
    for (int hour = 1; hour <= 12; ++hour) {
        const Spot d = direction(hour);
        const double from = hour % 3 == 0 ? 0.86 : 0.93;
        cairo_move_to(c, mx + d.x * r * from, my + d.y * r * from);
        cairo_line_to(c, mx + d.x * r, my + d.y * r);
        colour(c, kMist);
        cairo_set_line_width(c, 2 * scale);
        cairo_stroke(c);
    }
    const Spot d = direction(p.clock);
    const double far = p.depth.empty() ? 0.84 : radius_of(p.depth);
    cairo_move_to(c, mx, my);
    cairo_line_to(c, mx + d.x * r * far, my + d.y * r * far);
    colour(c, kAmber);
    cairo_set_line_width(c, 3 * scale);
    cairo_stroke(c);
    cairo_arc(c, mx + d.x * r * far, my + d.y * r * far, 7 * scale, 0, 2 * M_PI);
    cairo_fill(c);
    sheet.canvas().text(x + (w - need.w) / 2, y + 2 * r + 2 * pad, said, style);
    sheet.lay_on(frame, 1);
}

}  // namespace canalogue::film
