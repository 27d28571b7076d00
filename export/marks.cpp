#include "export/marks.hpp"

#include <cmath>

#include "export/html.hpp"

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

// The letter is dark or light, whichever stands out from the body; it stands where the shape has room.
bool dark_letter(Rgb body) { return 0.2126 * body.r + 0.7152 * body.g + 0.0722 * body.b > 110; }
double letter_shift(const std::string& shape) { return shape == "triangle" || shape == "drop" ? 0.1 : shape == "wedge" || shape == "flag" ? -0.1 : 0; }

// What was outlined, as the path of an SVG.
std::string path_of(cairo_t* p) {
    std::string out;
    cairo_path_t* path = cairo_copy_path(p);
    const auto points = [&](const char* letter, const cairo_path_data_t* data, int count) {
        out += letter;
        char text[48];
        for (int k = 1; k <= count; ++k) {
            std::snprintf(text, sizeof text, "%s%.2f %.2f", k > 1 ? " " : "", data[k].point.x, data[k].point.y);
            out += text;
        }
    };
    for (int i = 0; i < path->num_data; i += path->data[i].header.length) {
        const cairo_path_data_t* data = path->data + i;
        if (data->header.type == CAIRO_PATH_MOVE_TO && i + data->header.length < path->num_data) points("M", data, 1);
        else if (data->header.type == CAIRO_PATH_LINE_TO) points("L", data, 1);
        else if (data->header.type == CAIRO_PATH_CURVE_TO) points("C", data, 3);
        else if (data->header.type == CAIRO_PATH_CLOSE_PATH) out += "Z";
    }
    cairo_path_destroy(path);
    return out;
}

std::string hex(Rgb c) {
    char text[8];
    std::snprintf(text, sizeof text, "#%02x%02x%02x", c.r & 255, c.g & 255, c.b & 255);
    return text;
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
    TextStyle style{size * (symbol.letter.size() > 1 ? 0.48 : 0.6), true, dark_letter(body) ? Rgb{0, 0, 0} : Rgb{255, 255, 255}, Align::centre, 0, 1};
    const Size text = Canvas::measure(symbol.letter, style);
    canvas.text(x, y - text.h / 2.0 + letter_shift(symbol.shape) * size, symbol.letter, style);
}

std::string mark_svg(const Symbol& symbol) {
    constexpr double kRadius = 10;
    Canvas scratch({2, 2});
    outline(scratch.cairo(), symbol.shape, 0, 0, kRadius);
    const Rgb colour = rgb_from(symbol.colour);
    const bool ring = symbol.shape == "ring";
    const Rgb body = ring ? kInk : colour;
    char place[64];
    std::snprintf(place, sizeof place, "y=\"%.1f\"", 4.0 + 2 * kRadius * letter_shift(symbol.shape));
    return "<svg class=\"mark\" viewBox=\"-13 -13 26 26\" aria-hidden=\"true\"><path d=\"" + path_of(scratch.cairo()) + "\" fill=\"" + hex(body) + "\" stroke-width=\"" + (ring ? "3" : "1.5") + "\"/>" +
           (ring ? "<circle r=\"10\" fill=\"none\" stroke=\"" + hex(colour) + "\" stroke-width=\"3\"/>" : "") + "<text " + place + " fill=\"" + (dark_letter(body) ? "#000" : "#fff") + "\">" + html_safe(symbol.letter) +
           "</text></svg>";
}

}  // namespace canalogue::film
