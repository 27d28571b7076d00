#include "app/editor/picture_texture.hpp"

#include <epoxy/gl.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "app/editor/redraw.hpp"

extern "C" {
#include <libavutil/pixdesc.h>
}

namespace canalogue::editor {

namespace {

constexpr const char* kVertex = R"(#version 330 core
uniform mat2 turn;
out vec2 at;
void main() {
    vec2 corner = vec2(gl_VertexID & 1, gl_VertexID >> 1);
    // Row 0 of the planes is the top of the picture; row 0 of what is drawn is, too.
    at = turn * (corner - 0.5) + 0.5;
    gl_Position = vec4(corner * 2.0 - 1.0, 0.0, 1.0);
})";

// Normalised samples are brought to 8-bit scale, then the matrix of the file applies.
constexpr const char* kFragment = R"(#version 330 core
in vec2 at;
out vec4 colour;
uniform sampler2D luma, blue, red;
uniform float scale;
uniform vec3 offset;
uniform mat3 matrix;
void main() {
    vec3 yuv = vec3(texture(luma, at).r, texture(blue, at).r, texture(red, at).r) * scale;
    colour = vec4(matrix * (yuv - offset), 1.0);
})";

unsigned shader(GLenum kind, const char* text) {
    const unsigned s = glCreateShader(kind);
    glShaderSource(s, 1, &text, nullptr);
    glCompileShader(s);
    return s;
}

// Kr and Kb of ITU-R BT.601 and BT.709; limited range is 16..235 and 16..240. Column by column, for
// samples of 0..1.
struct Conversion {
    std::array<float, 9> matrix;
    std::array<float, 3> offset;
};

Conversion conversion(media::Colour c) {
    const float kr = c.matrix == media::Colour::Matrix::bt601 ? 0.299f : 0.2126f, kb = c.matrix == media::Colour::Matrix::bt601 ? 0.114f : 0.0722f, kg = 1 - kr - kb;
    const float y = c.full_range ? 1.0f : 255.0f / 219, uv = c.full_range ? 1.0f : 255.0f / 224;
    Conversion out;
    out.matrix = {y, y, y, 0, -2 * kb * (1 - kb) / kg * uv, 2 * (1 - kb) * uv, 2 * (1 - kr) * uv, -2 * kr * (1 - kr) / kg * uv, 0};
    const float middle = 128.0f / 255;
    out.offset = {c.full_range ? 0 : 16.0f / 255, middle, middle};
    return out;
}

// Turns texture coordinates: upright -> stored.
std::array<float, 4> turn_of(Rotation r) {
    switch (r) {
        case Rotation::none: return {1, 0, 0, 1};
        case Rotation::quarter: return {0, 1, -1, 0};
        case Rotation::half: return {-1, 0, 0, -1};
        case Rotation::three_quarters: return {0, -1, 1, 0};
    }
    return {1, 0, 0, 1};
}

bool planar_yuv(const AVPixFmtDescriptor& d) {
    if (d.flags & (AV_PIX_FMT_FLAG_RGB | AV_PIX_FMT_FLAG_PAL | AV_PIX_FMT_FLAG_HWACCEL | AV_PIX_FMT_FLAG_BITSTREAM | AV_PIX_FMT_FLAG_BE | AV_PIX_FMT_FLAG_FLOAT)) return false;
    if (d.nb_components < 3 || d.comp[0].shift != 0) return false;
    return d.comp[0].plane == 0 && d.comp[1].plane == 1 && d.comp[2].plane == 2;
}

// Shrunk to fit, keeping its shape; never enlarged.
Size within(Size size, Size most) {
    const double scale = std::min({1.0, static_cast<double>(most.w) / size.w, static_cast<double>(most.h) / size.h});
    return {std::max(1, static_cast<int>(std::lround(size.w * scale))), std::max(1, static_cast<int>(std::lround(size.h * scale)))};
}

}  // namespace

PictureTexture::~PictureTexture() {
    if (!program_) return;
    glDeleteTextures(3, planes_);
    glDeleteTextures(1, &rgb_);
    glDeleteFramebuffers(1, &frame_buffer_);
    glDeleteVertexArrays(1, &array_);
    glDeleteProgram(program_);
}

bool PictureTexture::prepare() {
    if (program_) return true;
    const unsigned v = shader(GL_VERTEX_SHADER, kVertex), f = shader(GL_FRAGMENT_SHADER, kFragment);
    program_ = glCreateProgram();
    glAttachShader(program_, v);
    glAttachShader(program_, f);
    glLinkProgram(program_);
    glDeleteShader(v);
    glDeleteShader(f);
    int linked = 0;
    glGetProgramiv(program_, GL_LINK_STATUS, &linked);
    glGenTextures(3, planes_);
    glGenTextures(1, &rgb_);
    glGenFramebuffers(1, &frame_buffer_);
    glGenVertexArrays(1, &array_);
    return linked != 0;
}

bool PictureTexture::upload(const AVFrame& frame) {
    const AVPixFmtDescriptor& d = *av_pix_fmt_desc_get(static_cast<AVPixelFormat>(frame.format));
    const bool wide = d.comp[0].depth > 8;
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    for (int p = 0; p < 3; ++p) {
        const int w = p ? AV_CEIL_RSHIFT(frame.width, d.log2_chroma_w) : frame.width, h = p ? AV_CEIL_RSHIFT(frame.height, d.log2_chroma_h) : frame.height;
        glBindTexture(GL_TEXTURE_2D, planes_[p]);
        glPixelStorei(GL_UNPACK_ROW_LENGTH, frame.linesize[p] / (wide ? 2 : 1));
        glTexImage2D(GL_TEXTURE_2D, 0, wide ? GL_R16 : GL_R8, w, h, 0, GL_RED, wide ? GL_UNSIGNED_SHORT : GL_UNSIGNED_BYTE, frame.data[p]);
        for (GLenum wrap : {GL_TEXTURE_WRAP_S, GL_TEXTURE_WRAP_T}) glTexParameteri(GL_TEXTURE_2D, wrap, GL_CLAMP_TO_EDGE);
        for (GLenum filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_2D, filter, GL_LINEAR);
    }
    glPixelStorei(GL_UNPACK_ROW_LENGTH, 0);
    return true;
}

void PictureTexture::draw(const AVFrame& frame, Rotation rotation, float sample_scale) {
    if (rgb_size_ != drawn_) {
        glBindTexture(GL_TEXTURE_2D, rgb_);
        glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, drawn_.w, drawn_.h, 0, GL_RGBA, GL_UNSIGNED_BYTE, nullptr);
        for (GLenum wrap : {GL_TEXTURE_WRAP_S, GL_TEXTURE_WRAP_T}) glTexParameteri(GL_TEXTURE_2D, wrap, GL_CLAMP_TO_EDGE);
        rgb_size_ = drawn_;
    }
    glBindTexture(GL_TEXTURE_2D, rgb_);
    for (GLenum filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_2D, filter, as_shown_ ? GL_NEAREST : GL_LINEAR);
    int before = 0, viewport[4];
    glGetIntegerv(GL_FRAMEBUFFER_BINDING, &before);
    glGetIntegerv(GL_VIEWPORT, viewport);
    glBindFramebuffer(GL_FRAMEBUFFER, frame_buffer_);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, rgb_, 0);
    glViewport(0, 0, drawn_.w, drawn_.h);
    glDisable(GL_BLEND);
    glDisable(GL_SCISSOR_TEST);
    glUseProgram(program_);
    const char* const names[] = {"luma", "blue", "red"};
    for (int p = 0; p < 3; ++p) {
        glActiveTexture(static_cast<GLenum>(GL_TEXTURE0 + p));
        glBindTexture(GL_TEXTURE_2D, planes_[p]);
        glUniform1i(glGetUniformLocation(program_, names[p]), p);
    }
    // Each sample stands where its pixel is: nothing to mix, and quicker where a processor draws.
    const bool as_it_is = rotation == Rotation::none && drawn_.w == frame.width && drawn_.h == frame.height;
    glActiveTexture(GL_TEXTURE0);
    for (GLenum filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_2D, filter, as_it_is ? GL_NEAREST : GL_LINEAR);
    const Conversion c = conversion(media::colour_of(frame));
    const auto turn = turn_of(rotation);
    glUniform1f(glGetUniformLocation(program_, "scale"), sample_scale);
    glUniform3fv(glGetUniformLocation(program_, "offset"), 1, c.offset.data());
    glUniformMatrix3fv(glGetUniformLocation(program_, "matrix"), 1, GL_FALSE, c.matrix.data());
    glUniformMatrix2fv(glGetUniformLocation(program_, "turn"), 1, GL_TRUE, turn.data());
    glBindVertexArray(array_);
    glDrawArrays(GL_TRIANGLE_STRIP, 0, 4);
    glBindVertexArray(0);
    glActiveTexture(GL_TEXTURE0);
    glBindFramebuffer(GL_FRAMEBUFFER, static_cast<unsigned>(before));
    glViewport(viewport[0], viewport[1], viewport[2], viewport[3]);
    contents_changed(rgb_);
}

bool PictureTexture::show(const media::Picture& picture, Rotation rotation, std::optional<Size> most) {
    if (!picture.frame || !prepare()) return false;
    const AVPixFmtDescriptor* d = av_pix_fmt_desc_get(static_cast<AVPixelFormat>(picture.frame->format));
    if (!d) return false;
    size_ = upright_size(picture.size(), rotation);
    drawn_ = most ? within(size_, *most) : size_;
    as_shown_ = most && (drawn_.w == most->w || drawn_.h == most->h);
    if (planar_yuv(*d)) {
        const int depth = d->comp[0].depth;
        upload(*picture.frame);
        // A 10-bit sample stands in a 16-bit word: to the same scale as an 8-bit one in a byte.
        const float scale = depth > 8 ? 65535.0f / 255.0f / static_cast<float>(1 << (depth - 8)) : 1.0f;
        draw(*picture.frame, rotation, scale);
        return true;
    }
    // Rare formats take the long way round.
    const media::Colour from = media::colour_of(*picture.frame);
    media::FramePtr plain = media::make_frame(AV_PIX_FMT_YUV444P, picture.size());
    SwsContext* context = plain ? scaler_.prepare(*picture.frame, from, picture.size(), AV_PIX_FMT_YUV444P, from) : nullptr;
    if (!context || sws_scale(context, picture.frame->data, picture.frame->linesize, 0, picture.frame->height, plain->data, plain->linesize) <= 0) return false;
    plain->colorspace = from.matrix == media::Colour::Matrix::bt601 ? AVCOL_SPC_SMPTE170M : AVCOL_SPC_BT709;
    plain->color_range = from.full_range ? AVCOL_RANGE_JPEG : AVCOL_RANGE_MPEG;
    upload(*plain);
    draw(*plain, rotation, 1.0f);
    return true;
}

std::vector<std::uint8_t> PictureTexture::pixels() const {
    std::vector<std::uint8_t> out(static_cast<std::size_t>(drawn_.w) * drawn_.h * 3);
    glBindTexture(GL_TEXTURE_2D, rgb_);
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glGetTexImage(GL_TEXTURE_2D, 0, GL_RGB, GL_UNSIGNED_BYTE, out.data());
    return out;
}

RgbTexture::~RgbTexture() {
    if (texture_) glDeleteTextures(1, &texture_);
}

RgbTexture::RgbTexture(RgbTexture&& other) noexcept : texture_(std::exchange(other.texture_, 0)), size_(other.size_) {}

RgbTexture& RgbTexture::operator=(RgbTexture&& other) noexcept {
    std::swap(texture_, other.texture_);
    std::swap(size_, other.size_);
    return *this;
}

void RgbTexture::show(const media::RgbPicture& picture) {
    if (!texture_) glGenTextures(1, &texture_);
    size_ = picture.size;
    glBindTexture(GL_TEXTURE_2D, texture_);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGB8, size_.w, size_.h, 0, GL_RGB, GL_UNSIGNED_BYTE, picture.pixels.data());
    for (GLenum filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_2D, filter, GL_LINEAR);
    for (GLenum wrap : {GL_TEXTURE_WRAP_S, GL_TEXTURE_WRAP_T}) glTexParameteri(GL_TEXTURE_2D, wrap, GL_CLAMP_TO_EDGE);
    contents_changed(texture_);
}

}  // namespace canalogue::editor
