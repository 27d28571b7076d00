#include "app/media/picture.hpp"

#include <cmath>

namespace canalogue::media {

namespace {

// Full-range pixel formats that say so by name.
bool is_jpeg_format(int format) {
    switch (format) {
        case AV_PIX_FMT_YUVJ420P:
        case AV_PIX_FMT_YUVJ422P:
        case AV_PIX_FMT_YUVJ444P:
        case AV_PIX_FMT_YUVJ440P:
        case AV_PIX_FMT_YUVJ411P: return true;
        default: return false;
    }
}

// libswscale warns about, and may treat apart, the old full-range names; the range is told separately.
AVPixelFormat plain_format(int format) {
    switch (format) {
        case AV_PIX_FMT_YUVJ420P: return AV_PIX_FMT_YUV420P;
        case AV_PIX_FMT_YUVJ422P: return AV_PIX_FMT_YUV422P;
        case AV_PIX_FMT_YUVJ444P: return AV_PIX_FMT_YUV444P;
        case AV_PIX_FMT_YUVJ440P: return AV_PIX_FMT_YUV440P;
        case AV_PIX_FMT_YUVJ411P: return AV_PIX_FMT_YUV411P;
        default: return static_cast<AVPixelFormat>(format);
    }
}

bool is_yuv(AVPixelFormat format) {
    const auto* d = av_pix_fmt_desc_get(format);
    return d && !(d->flags & AV_PIX_FMT_FLAG_RGB) && d->nb_components >= 3;
}

void turn_plane(const std::uint8_t* from, int from_stride, Size size, int pixel, std::uint8_t* to,
                int to_stride, Rotation r) {
    const Size out = upright_size(size, r);
    for (int y = 0; y < out.h; ++y) {
        for (int x = 0; x < out.w; ++x) {
            int sx = x, sy = y;
            if (r == Rotation::quarter) sx = y, sy = size.h - 1 - x;
            if (r == Rotation::half) sx = size.w - 1 - x, sy = size.h - 1 - y;
            if (r == Rotation::three_quarters) sx = size.w - 1 - y, sy = x;
            for (int c = 0; c < pixel; ++c)
                to[y * to_stride + x * pixel + c] = from[sy * from_stride + sx * pixel + c];
        }
    }
}

const Failure kNoMemory = machine_trouble("There is not enough memory for a picture; close other programs.");

}  // namespace

bool Picture::own() {
    // Writable for libav means that the planes are shared with no other frame; the frame itself may
    // still be shared with another Picture.
    if (frame.use_count() == 1 && av_frame_is_writable(frame.get())) return true;
    FramePtr copy = pooled_frame(static_cast<AVPixelFormat>(frame->format), size());
    if (!copy || av_frame_copy(copy.get(), frame.get()) < 0 || av_frame_copy_props(copy.get(), frame.get()) < 0) return false;
    frame = std::shared_ptr<AVFrame>(copy.release(), LibavDelete{});
    return true;
}

Colour colour_of(const AVFrame& frame) {
    Colour c;
    switch (frame.colorspace) {
        case AVCOL_SPC_BT709: c.matrix = Colour::Matrix::bt709; break;
        case AVCOL_SPC_BT470BG:
        case AVCOL_SPC_SMPTE170M: c.matrix = Colour::Matrix::bt601; break;
        default:
            c.matrix = frame.height >= 720 && !is_jpeg_format(frame.format) ? Colour::Matrix::bt709
                                                                            : Colour::Matrix::bt601;
    }
    c.full_range = frame.color_range == AVCOL_RANGE_JPEG ||
                   (frame.color_range == AVCOL_RANGE_UNSPECIFIED && is_jpeg_format(frame.format));
    return c;
}

SwsContext* Scaler::prepare(const AVFrame& source, Colour from, Size target, AVPixelFormat format, Colour to, int flags) {
    const Key key{source.format, {source.width, source.height}, target, format, from, to, flags};
    if (context_ && key == key_) return context_.get();
    context_.reset(sws_alloc_context());
    if (!context_) return nullptr;
    SwsContext* c = context_.get();
    const auto set = [c](const char* name, std::int64_t value) { av_opt_set_int(c, name, value, 0); };
    set("srcw", source.width), set("srch", source.height), set("src_format", plain_format(source.format));
    set("dstw", target.w), set("dsth", target.h), set("dst_format", format);
    // The ranges must be known before initialising: a same-size conversion would else skip them.
    set("src_range", from.full_range), set("dst_range", to.full_range);
    set("sws_flags", flags);
    const auto table = [](Colour colour) {
        return sws_getCoefficients(colour.matrix == Colour::Matrix::bt709 ? SWS_CS_ITU709 : SWS_CS_ITU601);
    };
    if (sws_init_context(c, nullptr, nullptr) < 0) {
        context_.reset();
        return nullptr;
    }
    sws_setColorspaceDetails(c, table(from), from.full_range, table(to), to.full_range, 0, 1 << 16, 1 << 16);
    key_ = key;
    return c;
}

FramePtr make_frame(AVPixelFormat format, Size size) { return pooled_frame(format, size); }

Result<RgbPicture> RgbConverter::convert(const Picture& picture, Rotation rotation, int limit, int flags) {
    const AVFrame& source = *picture.frame;
    Size scaled{source.width, source.height};
    if (const int longer = std::max(scaled.w, scaled.h); limit > 0 && longer > limit)
        scaled = {std::max(1, scaled.w * limit / longer), std::max(1, scaled.h * limit / longer)};
    SwsContext* scaler = scaler_.prepare(source, colour_of(source), scaled, AV_PIX_FMT_RGB24, {Colour::Matrix::bt709, true}, flags);
    FramePtr rgb = make_frame(AV_PIX_FMT_RGB24, scaled);
    if (!scaler || !rgb) return kNoMemory;
    sws_scale(scaler, source.data, source.linesize, 0, source.height, rgb->data, rgb->linesize);

    RgbPicture out{upright_size(scaled, rotation), {}};
    out.pixels.resize(static_cast<std::size_t>(out.size.w) * out.size.h * 3);
    turn_plane(rgb->data[0], rgb->linesize[0], scaled, 3, out.pixels.data(), out.stride(), rotation);
    return out;
}

Result<FramePtr> FilmConverter::convert(const AVFrame& source, Rotation rotation, Size target, const Sheet* sheet) {
    on_sheet_ = false;
    const Colour from = colour_of(source);
    const Size unturned = upright_size(target, rotation);
    // Keeping the matrix here and changing it below is exact and several times faster than the
    // detour through RGB that libswscale would take.
    const bool yuv = is_yuv(plain_format(source.format));
    const Colour to = yuv ? Colour{from.matrix, false} : Colour{Colour::Matrix::bt709, false};
    // What is in film form already is only shared, not copied.
    if (source.format == AV_PIX_FMT_YUV420P && from == Colour{Colour::Matrix::bt709, false} && rotation == Rotation::none &&
        target == Size{source.width, source.height}) {
        FramePtr same(av_frame_clone(&source));
        if (!same) return kNoMemory;
        return same;
    }
    SwsContext* scaler = scaler_.prepare(source, from, unturned, AV_PIX_FMT_YUV420P, to, SWS_BICUBIC);
    on_sheet_ = sheet && rotation == Rotation::none;
    FramePtr out = on_sheet_ ? pooled_window(*sheet, unturned) : make_frame(AV_PIX_FMT_YUV420P, unturned);
    if (!scaler || !out) return kNoMemory;
    sws_scale(scaler, source.data, source.linesize, 0, source.height, out->data, out->linesize);
    if (to.matrix == Colour::Matrix::bt601) convert_601_to_709(*out);
    if (rotation != Rotation::none) out = turned(*out, rotation);
    if (!out) return kNoMemory;
    out->colorspace = AVCOL_SPC_BT709;
    out->color_range = AVCOL_RANGE_MPEG;
    return out;
}

void convert_601_to_709(AVFrame& frame) {
    // Unit-scale coefficients: Kr, Kb of ITU-R BT.601 (0.299, 0.114) and BT.709 (0.2126, 0.0722).
    // R - Y = 1.402 Cr, B - Y = 1.772 Cb, G - Y = -0.344136 Cb - 0.714136 Cr (BT.601).
    constexpr double kr = 0.2126, kb = 0.0722, kg = 1 - kr - kb;
    constexpr double y_cb = kg * -0.344136 + kb * 1.772, y_cr = kr * 1.402 + kg * -0.714136;
    // Y on a 219 scale, chroma on a 224 scale.
    constexpr double scale = 219.0 / 224.0;
    constexpr int kShift = 14;
    constexpr auto fixed = [](double v) { return static_cast<int>(v * (1 << kShift) + (v < 0 ? -0.5 : 0.5)); };
    constexpr int yb = fixed(y_cb * scale), yr = fixed(y_cr * scale);
    constexpr double cb_div = 2 * (1 - kb), cr_div = 2 * (1 - kr);
    constexpr int bb = fixed((1.772 - y_cb) / cb_div), br = fixed(-y_cr / cb_div);
    constexpr int rb = fixed(-y_cb / cr_div), rr = fixed((1.402 - y_cr) / cr_div);
    constexpr int half = 1 << (kShift - 1);

    const int cw = (frame.width + 1) / 2, ch = (frame.height + 1) / 2;
    for (int y = 0; y < ch; ++y) {
        std::uint8_t* u = frame.data[1] + y * frame.linesize[1];
        std::uint8_t* v = frame.data[2] + y * frame.linesize[2];
        for (int x = 0; x < cw; ++x) {
            const int b = u[x] - 128, r = v[x] - 128;
            const int shift = (yb * b + yr * r + half) >> kShift;
            for (int dy = 0; dy < 2 && 2 * y + dy < frame.height; ++dy) {
                std::uint8_t* luma = frame.data[0] + (2 * y + dy) * frame.linesize[0];
                for (int dx = 0; dx < 2 && 2 * x + dx < frame.width; ++dx)
                    luma[2 * x + dx] = static_cast<std::uint8_t>(std::clamp(luma[2 * x + dx] + shift, 0, 255));
            }
            u[x] = static_cast<std::uint8_t>(std::clamp(128 + ((bb * b + br * r + half) >> kShift), 0, 255));
            v[x] = static_cast<std::uint8_t>(std::clamp(128 + ((rb * b + rr * r + half) >> kShift), 0, 255));
        }
    }
}

FramePtr turned(const AVFrame& frame, Rotation rotation) {
    FramePtr out = make_frame(AV_PIX_FMT_YUV420P, upright_size({frame.width, frame.height}, rotation));
    if (!out) return nullptr;
    for (int p = 0; p < 3; ++p) {
        const Size plane = p == 0 ? Size{frame.width, frame.height}
                                  : Size{(frame.width + 1) / 2, (frame.height + 1) / 2};
        turn_plane(frame.data[p], frame.linesize[p], plane, 1, out->data[p], out->linesize[p], rotation);
    }
    return out;
}

}  // namespace canalogue::media
