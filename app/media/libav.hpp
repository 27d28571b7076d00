// Ownership of libav objects and the one place where its error numbers become sentences.
#pragma once

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/opt.h>
#include <libavutil/pixdesc.h>
#include <libswresample/swresample.h>
#include <libswscale/swscale.h>
}

#include <memory>
#include <string>

#include "app/core/result.hpp"
#include "app/core/time.hpp"

namespace canalogue::media {

struct LibavDelete {
    void operator()(AVFormatContext* p) const { avformat_close_input(&p); }
    void operator()(AVCodecContext* p) const { avcodec_free_context(&p); }
    void operator()(AVFrame* p) const { av_frame_free(&p); }
    void operator()(AVPacket* p) const { av_packet_free(&p); }
    void operator()(SwsContext* p) const { sws_freeContext(p); }
    void operator()(SwrContext* p) const { swr_free(&p); }
};
using FormatPtr = std::unique_ptr<AVFormatContext, LibavDelete>;
using CodecPtr = std::unique_ptr<AVCodecContext, LibavDelete>;
using FramePtr = std::unique_ptr<AVFrame, LibavDelete>;
using PacketPtr = std::unique_ptr<AVPacket, LibavDelete>;
using SwsPtr = std::unique_ptr<SwsContext, LibavDelete>;
using SwrPtr = std::unique_ptr<SwrContext, LibavDelete>;

// Silences libav's own printing: its messages quote file names and tags, which may identify people.
void quiet_libav();

// libav's words for an error number, e.g. "Invalid data found when processing input".
std::string libav_words(int error);

inline constexpr AVRational kNanoBase{1, 1'000'000'000};

inline Nanos nanos_from_ticks(std::int64_t ticks, AVRational base) {
    return av_rescale_q(ticks, base, kNanoBase);
}
// Rounds down, so that the tick found is never after the instant.
inline std::int64_t ticks_from_nanos(Nanos ns, AVRational base) {
    return av_rescale_q_rnd(ns, kNanoBase, base, AV_ROUND_DOWN);
}

}  // namespace canalogue::media
