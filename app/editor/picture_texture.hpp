// A decoded picture on the graphics card: its YUV planes are uploaded as they are and converted to RGB
// by a shader with the file's own matrix and range, upright. Needs a current OpenGL 3.3 context.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "app/core/geometry.hpp"
#include "app/media/picture.hpp"

namespace canalogue::editor {

class PictureTexture {
  public:
    PictureTexture() = default;
    ~PictureTexture();
    PictureTexture(const PictureTexture&) = delete;
    PictureTexture& operator=(const PictureTexture&) = delete;

    // False when the picture's format cannot be shown. `most`: the room on the screen that it fills, and no larger than fits into
    // it (a processor that draws every pixel itself does not keep up with large pictures otherwise); none: every pixel.
    bool show(const media::Picture& picture, Rotation rotation, std::optional<Size> most = {});

    unsigned texture() const { return rgb_; }  // RGBA, row 0 is the top
    Size size() const { return size_; }        // upright, of the picture, whatever the texture holds

    // The shown pixels, 3 bytes each, rows from the top: for tests.
    std::vector<std::uint8_t> pixels() const;

  private:
    bool prepare();
    bool upload(const AVFrame& frame);
    void draw(const AVFrame& frame, Rotation rotation, float sample_scale);

    unsigned program_ = 0, array_ = 0, frame_buffer_ = 0, rgb_ = 0;
    unsigned planes_[3] = {0, 0, 0};
    Size size_, drawn_, rgb_size_;
    bool as_shown_ = false;  // the texture is as large as it stands on the screen
    media::Scaler scaler_;
};

// A small RGB picture, for thumbnails and crops.
class RgbTexture {
  public:
    RgbTexture() = default;
    ~RgbTexture();
    RgbTexture(RgbTexture&& other) noexcept;
    RgbTexture& operator=(RgbTexture&& other) noexcept;

    void show(const media::RgbPicture& picture);
    unsigned texture() const { return texture_; }
    Size size() const { return size_; }
    bool empty() const { return texture_ == 0; }

  private:
    unsigned texture_ = 0;
    Size size_;
};

}  // namespace canalogue::editor
