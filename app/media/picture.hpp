// One decoded picture, as the decoder gave it: stored orientation, the file's own pixel format,
// planes untouched. Cheap to copy (the planes are shared); writers must call `own()` first.
#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "app/core/geometry.hpp"
#include "app/core/time.hpp"
#include "app/media/frame_pool.hpp"

namespace canalogue::media {

struct Picture {
    std::shared_ptr<AVFrame> frame;
    RecordingTime time;

    Size size() const { return {frame->width, frame->height}; }
    bool interlaced() const { return frame->interlaced_frame != 0; }

    // Makes the planes this picture's alone, so that they may be written. False when memory is short.
    bool own();
};

// Which YUV coefficients and range a picture has. Unspecified matrices are guessed as common practice
// has it: height >= 720 is BT.709, else BT.601; the JPEG pixel formats are full range.
struct Colour {
    enum class Matrix { bt601, bt709 } matrix = Matrix::bt709;
    bool full_range = false;
    bool operator==(const Colour&) const = default;
};
Colour colour_of(const AVFrame& frame);

// 8-bit RGB, rows without padding, upright.
struct RgbPicture {
    Size size;
    std::vector<std::uint8_t> pixels;  // size.w * size.h * 3
    int stride() const { return size.w * 3; }
};

// libswscale set up for one conversion, kept while the conversion stays the same. One per thread.
class Scaler {
  public:
    static constexpr int kExact = SWS_BICUBIC | SWS_ACCURATE_RND | SWS_FULL_CHR_H_INT;  // several times slower
    static constexpr int kQuick = SWS_AREA;                                            // for eyes that are no stricter

    // Null when libswscale cannot convert between the two.
    SwsContext* prepare(const AVFrame& source, Colour from, Size target, AVPixelFormat format, Colour to, int flags = kExact);

  private:
    struct Key {
        int format = -1;
        Size source, target;
        AVPixelFormat out = AV_PIX_FMT_NONE;
        Colour from, to;
        int flags = 0;
        bool operator==(const Key&) const = default;
    };
    Key key_;
    SwsPtr context_;
};

// Converts to upright RGB at the stored scale (or `limit`: the longer side is at most so many pixels,
// 0 = no limit). Keeps its scaler between calls; one per thread.
class RgbConverter {
  public:
    Result<RgbPicture> convert(const Picture& picture, Rotation rotation, int limit = 0, int flags = Scaler::kExact);

  private:
    Scaler scaler_;
};

// Scales into an 8-bit 4:2:0 BT.709 limited-range frame of exactly `target` (upright), turning it as
// asked. With a sheet the frame may be a window of one (`on_sheet` tells). Keeps its scaler between calls; one per thread.
class FilmConverter {
  public:
    Result<FramePtr> convert(const AVFrame& source, Rotation rotation, Size target, const Sheet* sheet = nullptr);
    bool on_sheet() const { return on_sheet_; }

  private:
    Scaler scaler_;
    bool on_sheet_ = false;
};

// A fresh frame with planes; nullptr when memory is short.
FramePtr make_frame(AVPixelFormat format, Size size);

// Changes a limited-range 4:2:0 8-bit frame from BT.601 to BT.709 coefficients in place.
// Formula: RGB stays the same; matrices of ITU-R BT.601 and BT.709, see docs/architecture.md.
void convert_601_to_709(AVFrame& frame);

// Turns an 8-bit 4:2:0 frame clockwise.
FramePtr turned(const AVFrame& frame, Rotation rotation);

}  // namespace canalogue::media
