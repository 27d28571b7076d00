// Drawing of text and shapes (Pango, Cairo), and laying what was drawn onto film frames.
#pragma once

#include <cairo.h>

#include <memory>
#include <map>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"
#include "app/core/result.hpp"
#include "app/media/libav.hpp"
#include "export/palette.hpp"

namespace canalogue::film {

enum class Align { left, centre, right };

struct TextStyle {
    double size = 28;  // pixels
    bool bold = false;
    Rgb colour = kMist;
    Align align = Align::left;
    int width = 0;     // wraps here; 0 = one line
    int lines = 0;     // shortened with an ellipsis beyond so many; 0 = as many as needed
};

// A picture with transparency, drawn with Cairo.
class Canvas {
  public:
    explicit Canvas(Size size);
    Size size() const { return size_; }
    cairo_t* cairo() const { return cairo_.get(); }

    void fill(Rgb colour, double alpha = 1.0);
    void box(double x, double y, double w, double h, Rgb colour, double alpha = 1.0, double radius = 0);
    // Draws text with its top left (or top centre, top right) at x, y; returns its size.
    Size text(double x, double y, const std::string& words, const TextStyle& style);
    // Whether every sign of it can be drawn with the fonts of this machine.
    static bool can_draw(const std::string& words);
    static Size measure(const std::string& words, const TextStyle& style);

    const std::uint8_t* pixels() const;  // premultiplied ARGB32, native endian
    int stride() const;

  private:
    struct Destroy {
        void operator()(cairo_surface_t* s) const { cairo_surface_destroy(s); }
        void operator()(cairo_t* c) const { cairo_destroy(c); }
    };
    Size size_;
    std::unique_ptr<cairo_surface_t, Destroy> surface_;
    std::unique_ptr<cairo_t, Destroy> cairo_;
};

// The same on anything that Cairo draws on, a page of a PDF as well: sizes are in its units.
Size draw_text(cairo_t* cairo, double x, double y, const std::string& words, const TextStyle& style);

// A canvas turned into film planes (BT.709 limited), ready to be laid at an even place, many times.
class Overlay {
  public:
    Overlay() = default;
    explicit Overlay(const Canvas& canvas);
    Size size() const { return size_; }
    bool empty() const { return size_.w == 0; }
    // x and y are rounded down to even; what falls outside the frame is cut.
    void lay_on(AVFrame& frame, int x, int y) const;

  private:
    Size size_;          // even
    bool opaque_ = true; // all of it: rows are copied
    std::vector<std::uint8_t> luma_, luma_alpha_, cb_, cr_, chroma_alpha_;  // colours premultiplied
};

void fill_frame(AVFrame& frame, Rgb colour);
// What lies above row `foot` and outside the part at x, y (even, within the frame): the rest is going to be laid over.
struct KeptPart {
    int x, y, w, h;
};
void fill_around(AVFrame& frame, Rgb colour, const KeptPart& kept, int foot);
// Copies an 8-bit 4:2:0 frame onto another at an even place.
void paste(AVFrame& frame, const AVFrame& picture, int x, int y);

// Overlays that are drawn again and again, by what they show. Holds a few: a long film has a clock that
// never shows the same second twice.
template <class Key>
class OverlayCache {
  public:
    explicit OverlayCache(std::size_t most) : most_(most) {}

    // Valid until the next call.
    template <class Draw>
    const Overlay& get(const Key& key, Draw draw) {
        if (const auto it = kept_.find(key); it != kept_.end()) return it->second;
        if (kept_.size() >= most_) kept_.clear();
        return kept_.emplace(key, draw()).first->second;
    }

  private:
    std::size_t most_;
    std::map<Key, Overlay> kept_;
};

}  // namespace canalogue::film
