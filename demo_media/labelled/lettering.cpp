#include "demo_media/labelled/lettering.hpp"

#include <memory>
#include <pango/pangocairo.h>

namespace canalogue::demo::labelled {

namespace {

struct Free {
    void operator()(cairo_surface_t* s) const { cairo_surface_destroy(s); }
    void operator()(cairo_t* c) const { cairo_destroy(c); }
    void operator()(PangoFontDescription* d) const { pango_font_description_free(d); }
    void operator()(PangoLayout* l) const { g_object_unref(l); }
};
template <class T>
using Owned = std::unique_ptr<T, Free>;

Owned<PangoLayout> layout_of(cairo_t* cairo, const std::string& words, const Letters& letters) {
    Owned<PangoLayout> layout(pango_cairo_create_layout(cairo));
    Owned<PangoFontDescription> font(pango_font_description_new());
    pango_font_description_set_family(font.get(), letters.font.c_str());
    pango_font_description_set_absolute_size(font.get(), double(letters.height) * PANGO_SCALE);
    if (letters.bold) pango_font_description_set_weight(font.get(), PANGO_WEIGHT_BOLD);
    if (letters.slanted) pango_font_description_set_style(font.get(), PANGO_STYLE_ITALIC);
    pango_layout_set_font_description(layout.get(), font.get());
    pango_layout_set_text(layout.get(), words.c_str(), -1);
    return layout;
}

cv::Mat1b cut_to_ink(const cv::Mat1b& mask) {
    int x0 = mask.cols, x1 = -1, y0 = mask.rows, y1 = -1;
    for (int y = 0; y < mask.rows; ++y)
        for (int x = 0; x < mask.cols; ++x)
            if (mask(y, x)) x0 = std::min(x0, x), x1 = std::max(x1, x), y0 = std::min(y0, y), y1 = std::max(y1, y);
    if (x1 < 0) return {};
    return mask(cv::Rect(x0, y0, x1 - x0 + 1, y1 - y0 + 1)).clone();
}

}  // namespace

cv::Mat1b lettered(const std::string& words, const Letters& letters) {
    Owned<cairo_surface_t> probe(cairo_image_surface_create(CAIRO_FORMAT_A8, 8, 8));
    Owned<cairo_t> measuring(cairo_create(probe.get()));
    int wide = 0, high = 0;
    pango_layout_get_pixel_size(layout_of(measuring.get(), words, letters).get(), &wide, &high);
    const int edge = letters.height;  // slanted letters reach beyond their line
    Owned<cairo_surface_t> surface(cairo_image_surface_create(CAIRO_FORMAT_A8, wide + 2 * edge, high + 2 * edge));
    Owned<cairo_t> cairo(cairo_create(surface.get()));
    cairo_move_to(cairo.get(), edge, edge);
    pango_cairo_show_layout(cairo.get(), layout_of(cairo.get(), words, letters).get());
    cairo_surface_flush(surface.get());
    const cv::Mat1b drawn(cairo_image_surface_get_height(surface.get()), cairo_image_surface_get_width(surface.get()),
                          cairo_image_surface_get_data(surface.get()),
                          std::size_t(cairo_image_surface_get_stride(surface.get())));
    return cut_to_ink(drawn);
}

}  // namespace canalogue::demo::labelled
