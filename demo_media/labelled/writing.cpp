#include "demo_media/labelled/writing.hpp"

#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <opencv2/imgproc.hpp>

namespace canalogue::demo::labelled {

namespace {

constexpr int kAround = 4;  // pixels: room for outline and shadow
constexpr double kSlide = 0.6, kFade = 0.8;  // seconds

// The letters of a line, 255 where they are full; cut to their ink with kAround on each side.
cv::Mat1b letters_of(const std::string& text, const std::string& font, int height) {
    thread_local std::map<std::string, cv::Mat1b> kept;
    const std::string key = text + "\n" + font + "\n" + std::to_string(height);
    if (const auto it = kept.find(key); it != kept.end()) return it->second;
    const auto draw = [&](cairo_surface_t* surface, int x, int y, PangoRectangle* ink) {
        std::unique_ptr<cairo_t, decltype(&cairo_destroy)> cr(cairo_create(surface), cairo_destroy);
        std::unique_ptr<PangoLayout, decltype(&g_object_unref)> layout(pango_cairo_create_layout(cr.get()), g_object_unref);
        std::unique_ptr<PangoFontDescription, decltype(&pango_font_description_free)> description(pango_font_description_from_string(font.c_str()), pango_font_description_free);
        pango_font_description_set_absolute_size(description.get(), height * PANGO_SCALE);
        pango_layout_set_font_description(layout.get(), description.get());
        pango_layout_set_text(layout.get(), text.c_str(), -1);
        pango_layout_get_pixel_extents(layout.get(), ink, nullptr);
        cairo_move_to(cr.get(), x, y);
        pango_cairo_show_layout(cr.get(), layout.get());
        cairo_surface_flush(surface);
    };
    const auto surface_of = [](int w, int h) { return std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>(cairo_image_surface_create(CAIRO_FORMAT_A8, w, h), cairo_surface_destroy); };
    PangoRectangle ink{};
    draw(surface_of(1, 1).get(), 0, 0, &ink);
    const int w = ink.width + 2 * kAround, h = ink.height + 2 * kAround;
    const auto surface = surface_of(w, h);
    draw(surface.get(), kAround - ink.x, kAround - ink.y, &ink);
    const cv::Mat1b shown(h, w, cairo_image_surface_get_data(surface.get()), static_cast<std::size_t>(cairo_image_surface_get_stride(surface.get())));
    if (kept.size() > 400) kept.clear();
    return kept[key] = shown.clone();
}

std::string text_at(const Writing& w, double t) {
    if (w.way != Way::clock) return w.text;
    // "2031-03-04 09:41:07": the last eight are a time of day.
    const std::size_t n = w.text.size();
    int seconds = std::stoi(w.text.substr(n - 8, 2)) * 3600 + std::stoi(w.text.substr(n - 5, 2)) * 60 + std::stoi(w.text.substr(n - 2)) + static_cast<int>(t);
    char time[16];
    std::snprintf(time, sizeof time, "%02d:%02d:%02d", seconds / 3600 % 24, seconds / 60 % 60, seconds % 60);
    return w.text.substr(0, n - 8) + time;
}

// The writing's path: rest, slide in and out from the nearer side, or run along a line.
cv::Point place_at(const Writing& w, double t, cv::Size layer, cv::Size frame) {
    cv::Point at = w.place;
    if (w.way == Way::sliding) {
        const double in = std::clamp((t - w.start) / kSlide, 0.0, 1.0), out = std::clamp((w.end - t) / kSlide, 0.0, 1.0), part = std::min(in, out);
        const bool from_left = w.place.x + layer.width / 2 < frame.width / 2;
        const int hidden = from_left ? -layer.width : frame.width;
        at.x = static_cast<int>(std::lround(hidden + (w.place.x - hidden) * part * part * (3 - 2 * part)));
    }
    if (w.way == Way::scrolling) {
        const double part = (t - w.start) / std::max(.1, w.end - w.start);
        at.x = static_cast<int>(std::lround(frame.width - part * (frame.width + layer.width)));
    }
    return at;
}

}  // namespace

std::string_view name_of(Way way) {
    static constexpr std::string_view kNames[] = {"still", "clock", "fading", "sliding", "brief", "scrolling", "turned"};
    return kNames[static_cast<std::size_t>(way)];
}

std::string_view name_of(Ink ink) {
    static constexpr std::string_view kNames[] = {"plain", "outlined", "shadowed", "boxed", "half transparent", "near-black"};
    return kNames[static_cast<std::size_t>(ink)];
}

Written written_at(const Writing& w, double t, cv::Size frame) {
    if (t < w.start || t >= w.end) return {};
    Written out;
    out.opacity = w.opacity;
    if (w.way == Way::fading) out.opacity *= std::clamp(std::min((t - w.start) / kFade, (w.end - t) / kFade), 0.0, 1.0);
    out.body = letters_of(text_at(w, t), w.font, w.height);
    if (w.way == Way::upright) cv::rotate(out.body, out.body, cv::ROTATE_90_CLOCKWISE);
    out.letters = out.body.clone();
    if (w.ink == Ink::outlined) cv::dilate(out.body, out.letters, cv::Mat1b::ones(3, 3));
    if (w.ink == Ink::shadowed) {
        const cv::Mat1f shift = (cv::Mat1f(2, 3) << 1, 0, 2, 0, 1, 2);
        cv::Mat1b moved;
        cv::warpAffine(out.body, moved, shift, out.body.size());
        out.letters = cv::max(static_cast<const cv::Mat&>(out.body), static_cast<const cv::Mat&>(moved));
    }
    if (w.ink == Ink::boxed) out.ground = cv::Mat1b(out.body.size(), 200);
    out.at = place_at(w, t, out.body.size(), frame) - cv::Point(kAround, kAround);
    return out;
}

UprightBox write(const Writing& w, double t, cv::Mat3b& frame, cv::Mat1b& labels, std::uint8_t label) {
    const Written now = written_at(w, t, frame.size());
    if (now.body.empty() || now.opacity < .02) return {};
    const bool bright = w.colour[0] + w.colour[1] + w.colour[2] > 300;
    const cv::Vec3f ink(static_cast<float>(w.colour[0]), static_cast<float>(w.colour[1]), static_cast<float>(w.colour[2])), under = bright ? cv::Vec3f(8, 8, 8) : cv::Vec3f(240, 240, 240);
    int left = frame.cols, top = frame.rows, right = 0, bottom = 0;
    for (int y = 0; y < now.body.rows; ++y)
        for (int x = 0; x < now.body.cols; ++x) {
            const int fx = now.at.x + x, fy = now.at.y + y;
            if (fx < 0 || fy < 0 || fx >= frame.cols || fy >= frame.rows) continue;
            const auto o = static_cast<float>(now.opacity);
            const float ground = now.ground.empty() ? 0 : o * static_cast<float>(now.ground(y, x)) / 255, around = o * static_cast<float>(now.letters(y, x)) / 255, body = o * static_cast<float>(now.body(y, x)) / 255;
            if (ground <= 0 && around <= 0) continue;
            cv::Vec3f p(frame(fy, fx));
            p = p * (1 - ground) + under * ground;
            p = p * (1 - around) + under * around;
            p = p * (1 - body) + ink * body;
            frame(fy, fx) = cv::Vec3b(cv::saturate_cast<std::uint8_t>(p[0]), cv::saturate_cast<std::uint8_t>(p[1]), cv::saturate_cast<std::uint8_t>(p[2]));
            if (around <= .1f && body <= .1f) continue;
            labels(fy, fx) = label;
            left = std::min(left, fx), top = std::min(top, fy), right = std::max(right, fx + 1), bottom = std::max(bottom, fy + 1);
        }
    return right > left ? UprightBox{left, top, right - left, bottom - top} : UprightBox{};
}

}  // namespace canalogue::demo::labelled
