// Pictures to packets: H.264 or VP9, BT.709 limited 4:2:0, without notes of the encoder. Each encoder begins with a
// keyframe that nothing reaches across, so that what several of them made can stand in one film, one after the
// other. The same frames give the same bytes, whatever was encoded before.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "app/core/plan.hpp"
#include "app/core/result.hpp"
#include "app/media/picture.hpp"

namespace canalogue::film {

// How good and how quick, in one place so that documents and benchmarks can quote it.
//
//   target   H.264 (libx264)      VP9 (libvpx)          sound: AAC, Opus
//   web      CRF 20               CRF 31                160, 96 kbit/s
//   master   CRF 14               CRF 16                256, 160 kbit/s
//   message  CRF 20 if it fits,   two passes, CRF 31     96, 64 kbit/s
//            else two passes      at the most
//
// CRF 17 or 18 is commonly called visually lossless for libx264 (common practice); a master keeps some more, since
// it is cut and encoded again.
struct Quality {
    int h264_crf, vp9_crf;
    std::int64_t aac, opus;  // bits a second
};
constexpr Quality quality_of(FilmTarget target) {
    switch (target) {
        case FilmTarget::master: return {14, 16, 256'000, 160'000};
        case FilmTarget::message: return {20, 31, 96'000, 64'000};
        case FilmTarget::web: break;
    }
    return {20, 31, 160'000, 96'000};
}

inline constexpr const char* kPreset = "medium";
inline constexpr const char* kX264Parameters = "mbtree=0:stitchable=1";
inline constexpr const char* kVp9Speed = "4";  // libvpx's cpu-used, with deadline "good"
// Fixed, because the number of threads changes the bytes.
inline constexpr int kEncoderThreads = 4;
inline constexpr int kKeyframeSeconds = 2;  // players seek to within this without waiting

// "clip.mp4" or "clip.webm": what the film is called in its export.
std::string film_name(FilmFormat format);

Failure encoder_missing();
Failure no_memory_for_film();

// What a first pass learned for a second one.
struct PassNotes {
    std::filesystem::path file;  // where libx264 keeps them; the caller's to remove
    std::string text;            // libvpx's
};

struct Coding {
    const char* preset = kPreset;     // libx264's; others are for benchmarks
    int pass = 0;                     // 0: the only one
    PassNotes* notes = nullptr;       // of passes 1 and 2; must outlive the encoder
    std::int64_t bits_per_second = 0; // pass 2: what the picture may have
};

// All that decides the bytes beside the frames, in words: a part of what encoded passages are kept by.
std::string described(const FilmSettings& film, const Coding& coding);

// Used by one thread.
class PictureEncoder {
  public:
    static Result<PictureEncoder> open(const FilmSettings& film, const Coding& coding);

    PictureEncoder(PictureEncoder&&) noexcept;
    PictureEncoder& operator=(PictureEncoder&&) noexcept;
    ~PictureEncoder();

    // Packets come in coding order; pts is the number of the picture in order of showing, from 0.
    using Take = std::function<Result<void>(AVPacket& packet)>;

    // In order. The frame is taken over.
    Result<void> picture(media::FramePtr frame, const Take& take);
    Result<void> finish(const Take& take);

    // Codec, size, colour, header. The same for all encoders of the same settings.
    const AVCodecParameters& parameters() const;
    // By how many pictures coding order may run behind: dts = place in coding order - delay.
    int delay() const;

  private:
    struct State;
    explicit PictureEncoder(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

// An 8-bit 4:2:0 limited-range frame as a JPEG (full range) without any metadata: as a packet, written, both.
Result<media::PacketPtr> jpeg_of(const AVFrame& frame);
Result<void> write_packet(const std::filesystem::path& file, const AVPacket& jpeg);
Result<void> write_jpeg(const std::filesystem::path& file, const AVFrame& frame);

}  // namespace canalogue::film
