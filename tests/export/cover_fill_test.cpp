#include <catch2/catch.hpp>

#include <random>

#include "export/cover_fill.hpp"
#include "tests/support/media_files.hpp"

extern "C" {
#include <libavutil/imgutils.h>
#include <libavutil/pixdesc.h>
}

using namespace canalogue;

namespace {

using Boxes = std::vector<StoredBox>;
constexpr Size kSize{160, 96};

// A picture of noise. The same seed gives the same picture.
media::Picture noise(AVPixelFormat format, unsigned seed, Size size = kSize) {
    media::Picture p;
    p.frame = media::make_frame(format, size);
    REQUIRE(p.frame);
    std::mt19937 random(seed);
    const auto* d = av_pix_fmt_desc_get(format);
    const unsigned top = (1u << d->comp[0].depth) - 1;
    for (int plane = 0; plane < 4 && p.frame->data[plane]; ++plane) {
        const int rows = plane == 1 || plane == 2 ? AV_CEIL_RSHIFT(size.h, d->log2_chroma_h) : size.h;
        for (int y = 0; y < rows; ++y) {
            auto* row = p.frame->data[plane] + static_cast<std::ptrdiff_t>(y) * p.frame->linesize[plane];
            const int bytes = av_image_get_linesize(format, size.w, plane);
            if (d->comp[0].depth > 8)
                for (int i = 0; i + 1 < bytes; i += 2) {
                    const auto v = static_cast<unsigned>(random()) & top;
                    row[i] = static_cast<std::uint8_t>(v), row[i + 1] = static_cast<std::uint8_t>(v >> 8);
                }
            else
                for (int i = 0; i < bytes; ++i) row[i] = static_cast<std::uint8_t>(random());
        }
    }
    return p;
}

std::string bytes_of(const media::Picture& p) {
    const auto format = static_cast<AVPixelFormat>(p.frame->format);
    const int size = av_image_get_buffer_size(format, p.frame->width, p.frame->height, 1);
    std::string out(static_cast<std::size_t>(size), '\0');
    av_image_copy_to_buffer(reinterpret_cast<std::uint8_t*>(out.data()), size, p.frame->data, p.frame->linesize, format, p.frame->width, p.frame->height, 1);
    return out;
}

bool same(const media::Picture& a, const media::Picture& b) { return bytes_of(a) == bytes_of(b); }

// The value of component c that pixel x, y shows.
int sample(const media::Picture& p, int c, int x, int y) {
    const auto* d = av_pix_fmt_desc_get(static_cast<AVPixelFormat>(p.frame->format));
    const bool chroma = !(d->flags & AV_PIX_FMT_FLAG_RGB) && (c == 1 || c == 2);
    std::uint16_t value = 0;
    const std::uint8_t* data[4] = {p.frame->data[0], p.frame->data[1], p.frame->data[2], p.frame->data[3]};
    av_read_image_line(&value, data, p.frame->linesize, d, chroma ? x >> d->log2_chroma_w : x, chroma ? y >> d->log2_chroma_h : y, c, 1, 0);
    return value;
}

// Whether a component's sample that pixel x, y uses is also used by a pixel of a box.
bool touched(const media::Picture& p, const Boxes& boxes, int x, int y) {
    const auto* d = av_pix_fmt_desc_get(static_cast<AVPixelFormat>(p.frame->format));
    const int w = 1 << d->log2_chroma_w, h = 1 << d->log2_chroma_h;
    const StoredBox site{x / w * w, y / h * h, w, h};
    return std::any_of(boxes.begin(), boxes.end(), [&](const StoredBox& b) { return b.meets(site); });
}

// Picture a with what lies under the boxes taken from b.
media::Picture mixed(const media::Picture& a, const media::Picture& b, const Boxes& boxes) {
    media::Picture out = a;
    REQUIRE(out.own());
    const auto format = static_cast<AVPixelFormat>(a.frame->format);
    const auto* d = av_pix_fmt_desc_get(format);
    for (int c = 0; c < d->nb_components; ++c) {
        const bool chroma = !(d->flags & AV_PIX_FMT_FLAG_RGB) && (c == 1 || c == 2);
        const int sx = chroma ? d->log2_chroma_w : 0, sy = chroma ? d->log2_chroma_h : 0;
        const int size = d->comp[c].depth > 8 ? 2 : 1;
        for (const auto& box : boxes)
            for (int y = box.y >> sy; y < -((-box.bottom()) >> sy); ++y)
                for (int x = box.x >> sx; x < -((-box.right()) >> sx); ++x) {
                    const auto at = static_cast<std::ptrdiff_t>(y) * a.frame->linesize[d->comp[c].plane] + x * d->comp[c].step + d->comp[c].offset;
                    std::copy_n(b.frame->data[d->comp[c].plane] + at, size, out.frame->data[d->comp[c].plane] + at);
                }
    }
    return out;
}

const AVPixelFormat kFormats[] = {AV_PIX_FMT_YUV420P, AV_PIX_FMT_YUVJ420P, AV_PIX_FMT_YUV422P, AV_PIX_FMT_YUV444P, AV_PIX_FMT_YUV411P,  AV_PIX_FMT_YUV420P10LE, AV_PIX_FMT_YUV444P10LE,
                                  AV_PIX_FMT_NV12,    AV_PIX_FMT_GRAY8,    AV_PIX_FMT_GRAY10LE, AV_PIX_FMT_YUYV422, AV_PIX_FMT_UYVY422, AV_PIX_FMT_RGB24,       AV_PIX_FMT_BGR0,
                                  AV_PIX_FMT_GBRP,    AV_PIX_FMT_P010LE,   AV_PIX_FMT_YUVA420P, AV_PIX_FMT_RGBA};

const std::vector<Boxes> kLayouts{
    {{32, 32, 48, 16}},                                     // one
    {{0, 0, 48, 32}},                                       // in a corner
    {{16, 16, 64, 48}, {32, 32, 16, 16}},                   // one within another
    {{16, 16, 32, 32}, {48, 16, 32, 32}},                   // touching
    {{16, 16, 48, 32}, {48, 32, 48, 32}},                   // overlapping
    {{16, 16, 32, 16}, {16, 40, 32, 16}},                   // closer than what they are filled from
    {{0, 32, 160, 32}},                                     // from side to side
    {{0, 0, 160, 96}},                                      // everything
    {{0, 0, 80, 96}, {80, 0, 80, 96}},                      // everything, in two
};

}  // namespace

TEST_CASE("Pictures that differ only under covers become the same picture, in every pixel format") {
    for (AVPixelFormat format : kFormats)
        for (const auto& boxes : kLayouts) {
            INFO(av_get_pix_fmt_name(format) << ", " << boxes.size() << " boxes, the first at " << boxes[0].x << "," << boxes[0].y);
            media::Picture a = noise(format, 1), b = mixed(a, noise(format, 2), boxes);
            REQUIRE_FALSE(same(a, b));
            REQUIRE(film::lay_covers(a, boxes).ok());
            REQUIRE(film::lay_covers(b, boxes).ok());
            CHECK(same(a, b));
        }
}

TEST_CASE("Pixels outside the covers stay as they were") {
    for (AVPixelFormat format : kFormats)
        for (const auto& boxes : kLayouts) {
            const media::Picture before = noise(format, 3);
            media::Picture after = before;
            REQUIRE(film::lay_covers(after, boxes).ok());
            int changed = 0;
            for (int y = 0; y < kSize.h; ++y)
                for (int x = 0; x < kSize.w; ++x) {
                    if (touched(before, boxes, x, y)) continue;
                    for (int c = 0; c < av_pix_fmt_desc_get(format)->nb_components; ++c) changed += sample(before, c, x, y) != sample(after, c, x, y);
                }
            INFO(av_get_pix_fmt_name(format));
            CHECK(changed == 0);
        }
}

TEST_CASE("A cover changes what the decoder's own picture shares with nobody") {
    const media::Picture before = noise(AV_PIX_FMT_YUV420P, 4);
    const std::string bytes = bytes_of(before);
    media::Picture copy = before;
    REQUIRE(film::lay_covers(copy, kLayouts[0]).ok());
    const bool kept = bytes_of(before) == bytes;
    CHECK(kept);
}

TEST_CASE("In a picture of odd size the last row and column are covered as well") {
    const Size odd{161, 97};
    const Boxes boxes{{112, 64, 49, 33}};
    for (AVPixelFormat format : {AV_PIX_FMT_YUV420P, AV_PIX_FMT_YUV422P, AV_PIX_FMT_RGB24, AV_PIX_FMT_NV12}) {
        media::Picture a = noise(format, 5, odd), b = mixed(a, noise(format, 6, odd), boxes);
        REQUIRE(film::lay_covers(a, boxes).ok());
        REQUIRE(film::lay_covers(b, boxes).ok());
        INFO(av_get_pix_fmt_name(format));
        CHECK(same(a, b));
    }
}

TEST_CASE("A cover takes the colour of what surrounds it") {
    media::Picture p;
    p.frame = media::make_frame(AV_PIX_FMT_YUV420P, kSize);
    for (int y = 0; y < kSize.h; ++y) std::fill_n(p.frame->data[0] + y * p.frame->linesize[0], kSize.w, std::uint8_t{140});
    for (int y = 0; y < kSize.h / 2; ++y) {
        std::fill_n(p.frame->data[1] + y * p.frame->linesize[1], kSize.w / 2, std::uint8_t{100});
        std::fill_n(p.frame->data[2] + y * p.frame->linesize[2], kSize.w / 2, std::uint8_t{170});
    }
    for (int y = 40; y < 52; ++y) std::fill_n(p.frame->data[0] + y * p.frame->linesize[0] + 60, 40, std::uint8_t{235});
    REQUIRE(film::lay_covers(p, {{48, 32, 64, 32}}).ok());
    for (int y = 33; y < 63; ++y)
        for (int x = 49; x < 111; ++x) {
            REQUIRE(std::abs(sample(p, 0, x, y) - 140) <= 4);
            REQUIRE(std::abs(sample(p, 1, x, y) - 100) <= 1);
            REQUIRE(std::abs(sample(p, 2, x, y) - 170) <= 1);
        }
}

TEST_CASE("A picture whose samples cannot be reached is refused, not shown") {
    for (AVPixelFormat format : {AV_PIX_FMT_PAL8, AV_PIX_FMT_MONOBLACK, AV_PIX_FMT_RGB565LE, AV_PIX_FMT_BAYER_BGGR8, AV_PIX_FMT_YUV420P10BE, AV_PIX_FMT_GRAYF32LE}) {
        media::Picture p;
        p.frame = media::make_frame(format, kSize);
        REQUIRE(p.frame);
        auto done = film::lay_covers(p, kLayouts[0]);
        INFO(av_get_pix_fmt_name(format));
        REQUIRE_FALSE(done.ok());
        CHECK(done.failure().trouble == Trouble::bad_media);
    }
}
