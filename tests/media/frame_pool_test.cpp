// Planes that are used again and again.
#include <catch2/catch.hpp>

#include <cstring>
#include <thread>
#include <vector>

#include "app/media/frame_pool.hpp"

using namespace canalogue;
using namespace canalogue::media;

TEST_CASE("Frames that are alive share no planes, and a form is kept when others are asked for between") {
    for (const AVPixelFormat format : {AV_PIX_FMT_YUV420P, AV_PIX_FMT_YUV444P, AV_PIX_FMT_YUV422P10LE, AV_PIX_FMT_RGB24}) {
        for (const Size size : {Size{2, 2}, Size{33, 17}, Size{1280, 720}, Size{1081, 607}}) {
            const auto* d = av_pix_fmt_desc_get(format);
            std::vector<FramePtr> frames;
            for (int i = 0; i < 3; ++i) {
                frames.push_back(pooled_frame(format, size));
                REQUIRE(frames.back());
                for (int p = 0; p < av_pix_fmt_count_planes(format); ++p) {
                    const int rows = p && format != AV_PIX_FMT_RGB24 ? AV_CEIL_RSHIFT(size.h, d->log2_chroma_h) : size.h;
                    std::memset(frames.back()->data[p], i + 1, static_cast<std::size_t>(rows) * static_cast<std::size_t>(frames.back()->linesize[p]));
                }
            }
            for (int i = 0; i < 3; ++i) CHECK((frames[static_cast<std::size_t>(i)]->data[0][0] == i + 1 && av_frame_is_writable(frames[static_cast<std::size_t>(i)].get())));
        }
    }
}

TEST_CASE("A frame may outlive the thread that made it, and be freed on another") {
    std::vector<FramePtr> frames;
    std::thread([&] {
        for (int i = 0; i < 8; ++i) frames.push_back(pooled_frame(AV_PIX_FMT_YUV420P, {320 + 32 * i, 180}));
    }).join();
    for (const auto& f : frames) std::memset(f->data[0], 7, static_cast<std::size_t>(f->linesize[0]) * 180);
    frames.clear();
    CHECK(frames.empty());
}

TEST_CASE("A window's planes are a part of the larger frame's, and do not reach into each other") {
    const Sheet sheet{{1920, 1088}, 114, 2};
    const FramePtr window = pooled_window(sheet, {1692, 952});
    const FramePtr whole = around_window(*window, sheet);
    REQUIRE(whole);
    CHECK((whole->width == 1920 && whole->height == 1088));
    for (int p = 0; p < 3; ++p) {
        const int shift = p ? 1 : 0;
        for (int y = 0; y < whole->height >> shift; ++y) std::memset(whole->data[p] + y * whole->linesize[p], 10 + p, static_cast<std::size_t>(whole->width >> shift));
    }
    for (int p = 0; p < 3; ++p) {
        const int shift = p ? 1 : 0;
        for (int y = 0; y < window->height >> shift; ++y) std::memset(window->data[p] + y * window->linesize[p], 200 + p, static_cast<std::size_t>(window->width >> shift));
    }
    long inside = 0, outside = 0;
    for (int p = 0; p < 3; ++p)
        for (int y = 0; y < whole->height >> (p ? 1 : 0); ++y)
            for (int x = 0; x < whole->width >> (p ? 1 : 0); ++x) {
                const int v = whole->data[p][y * whole->linesize[p] + x];
                inside += v == 200 + p, outside += v == 10 + p;
            }
    CHECK(inside == 1692L * 952 * 3 / 2);
    CHECK(inside + outside == 1920L * 1088 * 3 / 2);
}
