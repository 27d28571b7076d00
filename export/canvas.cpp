#include "export/canvas.hpp"

#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <cstring>

namespace canalogue::film {

namespace {

constexpr const char* kFontFamily = "Inter, DejaVu Sans, Sans";

struct Unref {
    void operator()(PangoLayout* l) const { g_object_unref(l); }
    void operator()(PangoFontDescription* d) const { pango_font_description_free(d); }
};

std::unique_ptr<PangoLayout, Unref> layout_for(cairo_t* cairo, const std::string& words, const TextStyle& style) {
    std::unique_ptr<PangoLayout, Unref> layout(pango_cairo_create_layout(cairo));
    // Hinting and subpixel order follow the desktop's settings; a film must not.
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout.get()), options);
    pango_cairo_context_set_resolution(pango_layout_get_context(layout.get()), 96);
    cairo_font_options_destroy(options);
    std::unique_ptr<PangoFontDescription, Unref> font(pango_font_description_new());
    pango_font_description_set_family(font.get(), kFontFamily);
    pango_font_description_set_absolute_size(font.get(), style.size * PANGO_SCALE);
    pango_font_description_set_weight(font.get(), style.bold ? PANGO_WEIGHT_SEMIBOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(layout.get(), font.get());
    pango_layout_set_text(layout.get(), words.data(), static_cast<int>(words.size()));
    if (style.width > 0) {
        pango_layout_set_width(layout.get(), style.width * PANGO_SCALE);
        pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
        if (style.align == Align::centre) pango_layout_set_alignment(layout.get(), PANGO_ALIGN_CENTER);
        if (style.align == Align::right) pango_layout_set_alignment(layout.get(), PANGO_ALIGN_RIGHT);
    }
    if (style.lines > 0) {
        pango_layout_set_height(layout.get(), -style.lines);
        pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
    }
    return layout;
}

Size size_of(PangoLayout* layout) {
    int w = 0, h = 0;
    pango_layout_get_pixel_size(layout, &w, &h);
    return {w, h};
}

struct Yuv {
    int y, cb, cr;
};
// BT.709 limited range, 8 bits (Kr 0.2126, Kb 0.0722), of values premultiplied with alpha a (0..255).
Yuv yuv709(int r, int g, int b, int a) {
    const double luma = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    return {static_cast<int>(std::lround(16.0 * a / 255 + luma * 219 / 255)),
            static_cast<int>(std::lround(128.0 * a / 255 + (b - luma) / 1.8556 * 224 / 255)),
            static_cast<int>(std::lround(128.0 * a / 255 + (r - luma) / 1.5748 * 224 / 255))};
}

std::uint8_t byte(int v) { return static_cast<std::uint8_t>(std::clamp(v, 0, 255)); }

// dst = src + dst * (255 - alpha) / 255
void blend_row(std::uint8_t* dst, const std::uint8_t* src, const std::uint8_t* alpha, int count) {
    for (int x = 0; x < count; ++x) {
        const unsigned rest = dst[x] * (255u - alpha[x]);
        dst[x] = static_cast<std::uint8_t>(src[x] + ((rest + 128 + ((rest + 128) >> 8)) >> 8));
    }
}

}  // namespace

Rgb rgb_from(const std::string& hex) {
    unsigned r = 0, g = 0, b = 0;
    if (hex.size() != 7 || std::sscanf(hex.c_str(), "#%2x%2x%2x", &r, &g, &b) != 3) return kMist;
    return {static_cast<int>(r), static_cast<int>(g), static_cast<int>(b)};
}

Canvas::Canvas(Size size) : size_(size), surface_(cairo_image_surface_create(CAIRO_FORMAT_ARGB32, size.w, size.h)), cairo_(cairo_create(surface_.get())) {}

void Canvas::fill(Rgb c, double alpha) {
    cairo_set_operator(cairo_.get(), CAIRO_OPERATOR_SOURCE);
    cairo_set_source_rgba(cairo_.get(), c.r / 255.0, c.g / 255.0, c.b / 255.0, alpha);
    cairo_paint(cairo_.get());
    cairo_set_operator(cairo_.get(), CAIRO_OPERATOR_OVER);
}

void Canvas::box(double x, double y, double w, double h, Rgb c, double alpha, double radius) {
    cairo_t* p = cairo_.get();
    const double r = std::min({radius, w / 2, h / 2});
    cairo_new_path(p);
    if (r > 0) {
        cairo_arc(p, x + w - r, y + r, r, -M_PI / 2, 0);
        cairo_arc(p, x + w - r, y + h - r, r, 0, M_PI / 2);
        cairo_arc(p, x + r, y + h - r, r, M_PI / 2, M_PI);
        cairo_arc(p, x + r, y + r, r, M_PI, 3 * M_PI / 2);
        cairo_close_path(p);
    } else {
        cairo_rectangle(p, x, y, w, h);
    }
    cairo_set_source_rgba(p, c.r / 255.0, c.g / 255.0, c.b / 255.0, alpha);
    cairo_fill(p);
}

Size draw_text(cairo_t* cairo, double x, double y, const std::string& words, const TextStyle& style) {
    const auto layout = layout_for(cairo, words, style);
    const Size size = size_of(layout.get());
    if (style.align == Align::centre) x -= (style.width > 0 ? style.width : size.w) / 2.0;
    if (style.align == Align::right) x -= style.width > 0 ? style.width : size.w;
    cairo_set_source_rgb(cairo, style.colour.r / 255.0, style.colour.g / 255.0, style.colour.b / 255.0);
    cairo_move_to(cairo, x, y);
    pango_cairo_show_layout(cairo, layout.get());
    return size;
}

Size Canvas::text(double x, double y, const std::string& words, const TextStyle& style) { return draw_text(cairo_.get(), x, y, words, style); }

Size Canvas::measure(const std::string& words, const TextStyle& style) {
    const Canvas scratch({1, 1});
    return size_of(layout_for(scratch.cairo(), words, style).get());
}

bool Canvas::can_draw(const std::string& words) {
    const Canvas scratch({1, 1});
    return pango_layout_get_unknown_glyphs_count(layout_for(scratch.cairo(), words, {}).get()) == 0;
}

const std::uint8_t* Canvas::pixels() const {
    cairo_surface_flush(surface_.get());
    return cairo_image_surface_get_data(surface_.get());
}
int Canvas::stride() const { return cairo_image_surface_get_stride(surface_.get()); }

Overlay::Overlay(const Canvas& canvas) : size_{canvas.size().w & ~1, canvas.size().h & ~1} {
    const auto full = static_cast<std::size_t>(size_.w) * size_.h, quarter = full / 4;
    luma_.resize(full), luma_alpha_.resize(full);
    cb_.resize(quarter), cr_.resize(quarter), chroma_alpha_.resize(quarter);
    const std::uint8_t* pixels = canvas.pixels();
    const auto at = [&](int x, int y) {
        std::uint32_t argb = 0;
        std::memcpy(&argb, pixels + static_cast<std::ptrdiff_t>(y) * canvas.stride() + x * 4, 4);
        return argb;
    };
    for (int y = 0; y < size_.h; y += 2) {
        for (int x = 0; x < size_.w; x += 2) {
            int a = 0, cb = 0, cr = 0;
            for (int k = 0; k < 4; ++k) {
                const int px = x + (k & 1), py = y + (k >> 1);
                const std::uint32_t v = at(px, py);
                const int alpha = static_cast<int>(v >> 24);
                const Yuv c = yuv709(v >> 16 & 255, v >> 8 & 255, v & 255, alpha);
                const auto i = static_cast<std::size_t>(py) * size_.w + px;
                luma_[i] = byte(c.y);
                luma_alpha_[i] = static_cast<std::uint8_t>(alpha);
                opaque_ = opaque_ && alpha == 255;
                a += alpha, cb += c.cb, cr += c.cr;
            }
            const auto i = static_cast<std::size_t>(y / 2) * (size_.w / 2) + x / 2;
            chroma_alpha_[i] = static_cast<std::uint8_t>((a + 2) / 4);
            cb_[i] = byte((cb + 2) / 4);
            cr_[i] = byte((cr + 2) / 4);
        }
    }
}

void Overlay::lay_on(AVFrame& frame, int x, int y) const {
    x &= ~1, y &= ~1;
    for (int p = 0; p < 3; ++p) {
        const int shift = p ? 1 : 0, width = size_.w >> shift, height = size_.h >> shift;
        const int left = std::max(0, -(x >> shift)), right = std::min(width, (frame.width >> shift) - (x >> shift));
        if (right <= left) return;
        const auto& colour = p == 0 ? luma_ : p == 1 ? cb_ : cr_;
        const auto& alpha = p == 0 ? luma_alpha_ : chroma_alpha_;
        for (int row = 0; row < height; ++row) {
            const int fy = (y >> shift) + row;
            if (fy < 0 || fy >= frame.height >> shift) continue;
            std::uint8_t* dst = frame.data[p] + static_cast<std::ptrdiff_t>(fy) * frame.linesize[p] + (x >> shift) + left;
            const auto from = static_cast<std::size_t>(row) * width + left;
            if (opaque_) std::memcpy(dst, colour.data() + from, static_cast<std::size_t>(right - left));
            else blend_row(dst, colour.data() + from, alpha.data() + from, right - left);
        }
    }
}

void fill_around(AVFrame& frame, Rgb colour, const KeptPart& kept, int foot) {
    const Yuv c = yuv709(colour.r, colour.g, colour.b, 255);
    const int value[3] = {c.y, c.cb, c.cr};
    for (int p = 0; p < 3; ++p) {
        const auto in_plane = [p](int v) { return p ? (v + 1) / 2 : v; };
        const int width = in_plane(frame.width), left = in_plane(kept.x), right = in_plane(kept.x + kept.w);
        for (int y = 0; y < in_plane(foot); ++y) {
            std::uint8_t* row = frame.data[p] + static_cast<std::ptrdiff_t>(y) * frame.linesize[p];
            const bool beside = in_plane(kept.y) <= y && y < in_plane(kept.y + kept.h);
            std::memset(row, value[p], static_cast<std::size_t>(beside ? left : width));
            if (beside) std::memset(row + right, value[p], static_cast<std::size_t>(width - right));
        }
    }
}

void fill_frame(AVFrame& frame, Rgb colour) { fill_around(frame, colour, {0, 0, 0, 0}, frame.height); }

void paste(AVFrame& frame, const AVFrame& picture, int x, int y) {
    x &= ~1, y &= ~1;
    for (int p = 0; p < 3; ++p) {
        const int shift = p ? 1 : 0;
        const int rows = std::min(picture.height, frame.height - y) >> shift, columns = std::min(picture.width, frame.width - x) >> shift;
        for (int row = 0; row < rows; ++row)
            std::memcpy(frame.data[p] + static_cast<std::ptrdiff_t>((y >> shift) + row) * frame.linesize[p] + (x >> shift),
                        picture.data[p] + static_cast<std::ptrdiff_t>(row) * picture.linesize[p], static_cast<std::size_t>(columns));
    }
}

}  // namespace canalogue::film
