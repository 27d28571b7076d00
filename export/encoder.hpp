// Writes the film: H.264 and AAC in MP4, faststart, BT.709, nothing in it that the film does not need
// (no dates, no encoder strings, no user data). The same frames give the same bytes.
#pragma once

#include <filesystem>
#include <memory>
#include <vector>

#include "app/core/plan.hpp"
#include "app/media/picture.hpp"
#include "app/media/sound_reader.hpp"
#include "export/schedule.hpp"

namespace canalogue::film {

// Picture quality and speed, in one place so that documents and benchmarks can quote it.
inline constexpr const char* kPreset = "medium";
inline constexpr int kCrf = 20;
inline constexpr const char* kX264Parameters = "mbtree=0";
// Fixed, because the number of threads changes the bytes.
inline constexpr int kEncoderThreads = 4;

class Encoder {
  public:
    // `with_sound`: a sound track is written, and `sound` must be fed alongside.
    static Result<Encoder> open(const std::filesystem::path& file, const FilmSettings& film, const std::string& language,
                                const std::vector<Chapter>& chapters, Nanos length, bool with_sound);

    Encoder(Encoder&&) noexcept;
    Encoder& operator=(Encoder&&) noexcept;
    ~Encoder();

    // In order, without gaps. The frame is taken over.
    Result<void> picture(media::FramePtr frame);
    Result<void> sound(const media::Samples& samples);
    // Flushes and closes; the file is whole only when this succeeded.
    Result<void> finish();

  private:
    struct State;
    explicit Encoder(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

// Writes an 8-bit 4:2:0 limited-range frame as a JPEG (full range) without any metadata.
Result<void> write_jpeg(const std::filesystem::path& file, const AVFrame& frame);

}  // namespace canalogue::film
