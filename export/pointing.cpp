#include "export/pointing.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::film {

namespace {

constexpr double kTextSize = 26, kLine = 4, kEdge = 9;  // pixels at 720 lines: the amber line and the dark one under it

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

void arrow(cairo_t* c, Spot tip, double side, double scale) {
    const double length = 96 * scale, head = 26 * scale, ux = side * 0.8, uy = 0.6;
    cairo_move_to(c, tip.x + ux * length, tip.y + uy * length);
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

void words(Sheet& sheet, const PictureArea& a, const std::string& text, Spot from, double side, double reach, double scale) {
    const TextStyle style{kTextSize * scale, true, kMist, Align::left, static_cast<int>(a.w * 0.4)};
    const Size need = Canvas::measure(text, style);
    const double pad = 10 * scale, w = need.w + 2 * pad, h = need.h + pad;
    const double end = from.x + side * (reach + 40 * scale);
    const double x = std::clamp(side > 0 ? end : end - w, a.x + pad, std::max(a.x + pad, a.x + a.w - w - pad));
    const double y = std::clamp(from.y - h / 2 + 48 * scale, a.y + pad, std::max(a.y + pad, a.y + a.h - h - pad));
    cairo_move_to(sheet.cairo(), from.x + side * reach * 0.8, from.y + reach * 0.6);
    cairo_line_to(sheet.cairo(), side > 0 ? x : x + w, y + h / 2);
    stroke(sheet.cairo(), scale * 0.6);
    sheet.canvas().box(x, y, w, h, kInk, 1, 6 * scale);
    sheet.canvas().text(x + pad, y + pad / 2, text, style);
}

void draw(AVFrame& frame, const Passage& passage, const Pointer& p, PassageInstant now, const PictureArea& a, double scale) {
    const PointerStep step = place_at(p, now.t);
    const Spot at = in_frame(passage, a, step.x, step.y);
    if (!inside(a, at)) return;  // out of a close-up's window
    const double enlarged = 1 / a.window.w, w = p.w * enlarged * a.w, h = p.h / a.window.h * a.h, side = side_of(a, at);
    Sheet sheet(a.x, a.y, a.w, a.h);
    if (p.shape == PointerShape::arrow) arrow(sheet.cairo(), at, side, scale);
    else if (p.shape != PointerShape::words) around(sheet.cairo(), p.shape, at, w, h, scale);
    const double reach = p.shape == PointerShape::arrow ? 96 * scale : p.shape == PointerShape::words ? 0 : std::min(w, h) / 2;
    if (!p.text.empty()) words(sheet, a, p.text, at, side, reach, scale);
    sheet.lay_on(frame, strength(p, now));
}

// How far from the dial's middle each depth lies: the drum is in the middle of the view.
double radius_of(const std::string& depth) { return depth == "deep" ? 0.36 : depth == "middle" ? 0.6 : 0.84; }

}  // namespace

void draw_pointers(AVFrame& frame, const Passage& passage, PassageInstant now, const PictureArea& area, double scale) {
    for (const auto& p : passage.pointers)
        if (strength(p, now) > 0) draw(frame, passage, p, now, area, scale);
}

void draw_places(AVFrame& frame, const Passage& passage, PassageInstant now, const PictureArea& a, double scale) {
    for (const auto& p : passage.places) {
        if (now.t < p.from || now.t > p.until) continue;
        const std::string said = std::string(passage.ear == Ear::right ? "Right ear" : "Left ear") + ", " + std::to_string(p.clock) + " o'clock" + (p.depth.empty() ? "" : ", " + p.depth);
        const TextStyle style{20 * scale, true, kMist};
        const Size need = Canvas::measure(said, style);
        const double r = 56 * scale, pad = 12 * scale, w = std::max(2 * r, static_cast<double>(need.w)) + 2 * pad, h = 2 * r + need.h + 3 * pad;
        const double x = a.x + a.w - w - 20 * scale, y = a.y + a.h - h - 20 * scale;
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
        return;  // one dial at a time
    }
}

}  // namespace canalogue::film
