#include "export/marks.hpp"

#include <cmath>

namespace canalogue::film {

namespace {

void polygon(cairo_t* p, double x, double y, std::initializer_list<std::pair<double, double>> points, double r) {
    cairo_new_path(p);
    for (const auto& [dx, dy] : points) cairo_line_to(p, x + dx * r, y + dy * r);
    cairo_close_path(p);
}

void outline(cairo_t* p, const std::string& shape, double x, double y, double r) {
    if (shape == "square") return polygon(p, x, y, {{-.85, -.85}, {.85, -.85}, {.85, .85}, {-.85, .85}}, r);
    if (shape == "diamond") return polygon(p, x, y, {{0, -1.1}, {1.1, 0}, {0, 1.1}, {-1.1, 0}}, r);
    if (shape == "triangle") return polygon(p, x, y, {{0, -1.05}, {1.1, .85}, {-1.1, .85}}, r);
    if (shape == "wedge") return polygon(p, x, y, {{-1.1, -.85}, {1.1, -.85}, {0, 1.05}}, r);
    if (shape == "bar") return polygon(p, x, y, {{-.6, -1.1}, {.6, -1.1}, {.6, 1.1}, {-.6, 1.1}}, r);
    if (shape == "flag") return polygon(p, x, y, {{-.8, -1}, {1.1, -.6}, {-.2, 0}, {-.2, 1.1}, {-.8, 1.1}}, r);
    if (shape == "cross")
        return polygon(p, x, y, {{-.4, -1.1}, {.4, -1.1}, {.4, -.4}, {1.1, -.4}, {1.1, .4}, {.4, .4}, {.4, 1.1}, {-.4, 1.1}, {-.4, .4}, {-1.1, .4}, {-1.1, -.4}, {-.4, -.4}}, r);
    cairo_new_path(p);
    if (shape == "drop") {
        cairo_move_to(p, x, y - 1.2 * r);
        cairo_curve_to(p, x + .4 * r, y - .5 * r, x + r, y - .1 * r, x + .85 * r, y + .45 * r);
        cairo_arc(p, x, y + .3 * r, .87 * r, 0.15, M_PI - 0.15);
        cairo_curve_to(p, x - r, y - .1 * r, x - .4 * r, y - .5 * r, x, y - 1.2 * r);
        cairo_close_path(p);
        return;
    }
    cairo_arc(p, x, y, r, 0, 2 * M_PI);
}

}  // namespace

void draw_mark(Canvas& canvas, double x, double y, double size, const Symbol& symbol) {
    cairo_t* p = canvas.cairo();
    const Rgb c = rgb_from(symbol.colour);
    const double r = size / 2;
    outline(p, symbol.shape, x, y, r);
    const bool ring = symbol.shape == "ring";
    const Rgb body = ring ? kInk : c;
    cairo_set_source_rgb(p, body.r / 255.0, body.g / 255.0, body.b / 255.0);
    cairo_fill_preserve(p);
    // A light edge keeps dark colours apart from the ink ground.
    const Rgb edge = ring ? c : kMist;
    cairo_set_source_rgb(p, edge.r / 255.0, edge.g / 255.0, edge.b / 255.0);
    cairo_set_line_width(p, ring ? size * 0.14 : std::max(1.0, size * 0.06));
    cairo_stroke(p);
    // The letter is dark or light, whichever stands out from the body.
    const double luma = 0.2126 * body.r + 0.7152 * body.g + 0.0722 * body.b;
    TextStyle style{size * (symbol.letter.size() > 1 ? 0.48 : 0.6), true, luma > 110 ? Rgb{0, 0, 0} : Rgb{255, 255, 255}, Align::centre, 0, 1};
    const Size text = Canvas::measure(symbol.letter, style);
    const double shift = symbol.shape == "triangle" || symbol.shape == "drop" ? size * 0.1 : symbol.shape == "wedge" || symbol.shape == "flag" ? -size * 0.1 : 0;
    canvas.text(x, y - text.h / 2.0 + shift, symbol.letter, style);
}

}  // namespace canalogue::film
