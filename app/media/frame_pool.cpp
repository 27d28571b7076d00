#include "app/media/frame_pool.hpp"

extern "C" {
#include <libavutil/imgutils.h>
}

#include <algorithm>
#include <array>
#include <cstring>

namespace canalogue::media {

namespace {

constexpr int kAlign = 64;    // rows begin where the widest loads of libswscale and the encoders like them
constexpr int kRows = 32;     // libav's own frames have whole groups of so many rows, and some of its loops read them
constexpr int kBeyond = 256;  // read past the end by some of its loops, never told

struct Form {
    AVPixelFormat format = AV_PIX_FMT_NONE;
    Size size;
    bool operator==(const Form&) const = default;
};

struct UninitPool {
    void operator()(AVBufferPool* p) const { av_buffer_pool_uninit(&p); }
};

struct Planes {
    Form form;
    int strides[4] = {};
    std::size_t bytes = 0;
    std::unique_ptr<AVBufferPool, UninitPool> pool;
};

// Memory is cleared once, when it is new: the encoder would else read what other programs' libraries left in the padding.
AVBufferRef* cleared(std::size_t bytes) { return av_buffer_allocz(bytes); }

bool set_up(Planes& planes, const Form& form) {
    if (av_image_fill_linesizes(planes.strides, form.format, FFALIGN(form.size.w, kAlign)) < 0) return false;
    std::ptrdiff_t wide[4];
    for (int i = 0; i < 4; ++i) wide[i] = planes.strides[i] = FFALIGN(planes.strides[i], kAlign);
    std::size_t sizes[4];
    if (av_image_fill_plane_sizes(sizes, form.format, FFALIGN(form.size.h, kRows), wide) < 0) return false;
    planes.bytes = kBeyond + (std::size(sizes) + 1) * kAlign;  // room to move planes until their windows are aligned
    for (const std::size_t s : sizes) planes.bytes += s;
    planes.pool.reset(av_buffer_pool_init(planes.bytes, cleared));
    planes.form = form;
    return planes.pool != nullptr;
}

// The forms a thread asked for last, the newest first.
class Pools {
  public:
    Planes* of(const Form& form) {
        std::size_t i = 0;
        while (i < kept_.size() && !(kept_[i].form == form)) ++i;
        if (i == kept_.size()) {
            Planes fresh;
            if (!set_up(fresh, form)) return nullptr;
            kept_[--i] = std::move(fresh);  // planes still in use elsewhere live on until they are freed
        }
        std::rotate(kept_.begin(), kept_.begin() + static_cast<std::ptrdiff_t>(i), kept_.begin() + static_cast<std::ptrdiff_t>(i) + 1);
        return &kept_.front();
    }

  private:
    std::array<Planes, 4> kept_;
};

}  // namespace

FramePtr pooled_frame(AVPixelFormat format, Size size) {
    thread_local Pools pools;
    FramePtr frame(av_frame_alloc());
    Planes* planes = frame ? pools.of({format, size}) : nullptr;
    if (!planes) return nullptr;
    frame->format = format, frame->width = size.w, frame->height = size.h;
    frame->buf[0] = av_buffer_pool_get(planes->pool.get());
    if (!frame->buf[0] || av_image_fill_pointers(frame->data, format, FFALIGN(size.h, kRows), frame->buf[0]->data, planes->strides) < 0) return nullptr;
    std::memcpy(frame->linesize, planes->strides, sizeof planes->strides);
    frame->extended_data = frame->data;
    return frame;
}

namespace {

// Bytes from a 4:2:0 plane's beginning to its window's.
std::ptrdiff_t into_plane(const AVFrame& frame, const Sheet& sheet, int plane) {
    const int shift = plane ? 1 : 0;
    return static_cast<std::ptrdiff_t>(sheet.y >> shift) * frame.linesize[plane] + (sheet.x >> shift);
}

}  // namespace

FramePtr pooled_window(const Sheet& sheet, Size window) {
    FramePtr frame = pooled_frame(AV_PIX_FMT_YUV420P, sheet.size);
    if (!frame) return nullptr;
    for (int p = 0; p < 3; ++p) {
        const int lead = (kAlign - (sheet.x >> (p ? 1 : 0)) % kAlign) % kAlign;
        frame->data[p] += p * kAlign + lead + into_plane(*frame, sheet, p);
    }
    frame->width = window.w, frame->height = window.h;
    return frame;
}

FramePtr around_window(const AVFrame& window, const Sheet& sheet) {
    FramePtr whole(av_frame_clone(&window));
    if (!whole) return nullptr;
    for (int p = 0; p < 3; ++p) whole->data[p] -= into_plane(window, sheet, p);
    whole->width = sheet.size.w, whole->height = sheet.size.h;
    return whole;
}

}  // namespace canalogue::media
