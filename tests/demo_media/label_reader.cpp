#include "label_reader.hpp"

#include <cmath>
#include <memory>
#include <stdexcept>

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/display.h>
}

namespace {

struct Free {
    void operator()(AVFormatContext* f) const { avformat_close_input(&f); }
    void operator()(AVCodecContext* c) const { avcodec_free_context(&c); }
    void operator()(AVFrame* f) const { av_frame_free(&f); }
    void operator()(AVPacket* p) const { av_packet_free(&p); }
};
template <class T>
using Owned = std::unique_ptr<T, Free>;

void tell_stream(ReadVideo& out, AVFormatContext* file, AVStream* s) {
    const AVDictionaryEntry* tag = nullptr;
    while ((tag = av_dict_get(file->metadata, "", tag, AV_DICT_IGNORE_SUFFIX))) {
        std::string key = tag->key;
        for (char& c : key) c = char(std::tolower(static_cast<unsigned char>(c)));
        out.about[key] = tag->value;
    }
    out.interlaced_stream = s->codecpar->field_order == AV_FIELD_TT;
    if (const auto* m = av_stream_get_side_data(s, AV_PKT_DATA_DISPLAYMATRIX, nullptr))
        out.turn = int(std::lround(av_display_rotation_get(reinterpret_cast<const std::int32_t*>(m))));
    out.sound = av_find_best_stream(file, AVMEDIA_TYPE_AUDIO, -1, -1, nullptr, 0) >= 0;
}

void keep(ReadVideo& out, const AVFrame* f, const AVStream* s) {
    // The last frame of an AVI comes out of the decoder without a time.
    const bool timed = f->best_effort_timestamp != AV_NOPTS_VALUE;
    out.times.push_back(timed ? double(f->best_effort_timestamp) * av_q2d(s->time_base)
                              : out.times.back() + 1 / av_q2d(s->avg_frame_rate));
    out.interlaced_frames += f->interlaced_frame, out.top_first |= f->top_field_first != 0;
    out.grey.push_back(cv::Mat1b(f->height, f->width, f->data[0], std::size_t(f->linesize[0])).clone());
}

}  // namespace

ReadVideo read_video(const std::filesystem::path& path) {
    AVFormatContext* raw = nullptr;
    if (avformat_open_input(&raw, path.c_str(), nullptr, nullptr) < 0) throw std::runtime_error("cannot open");
    Owned<AVFormatContext> file(raw);
    avformat_find_stream_info(raw, nullptr);
    const int v = av_find_best_stream(raw, AVMEDIA_TYPE_VIDEO, -1, -1, nullptr, 0);
    if (v < 0) throw std::runtime_error("no pictures");
    AVStream* s = raw->streams[v];
    ReadVideo out;
    tell_stream(out, raw, s);
    Owned<AVCodecContext> c(avcodec_alloc_context3(avcodec_find_decoder(s->codecpar->codec_id)));
    avcodec_parameters_to_context(c.get(), s->codecpar);
    if (avcodec_open2(c.get(), nullptr, nullptr) < 0) throw std::runtime_error("no decoder");
    Owned<AVPacket> packet(av_packet_alloc());
    Owned<AVFrame> frame(av_frame_alloc());
    const auto drain = [&] {
        while (avcodec_receive_frame(c.get(), frame.get()) == 0) keep(out, frame.get(), s);
    };
    while (av_read_frame(raw, packet.get()) >= 0) {
        if (packet->stream_index == v) avcodec_send_packet(c.get(), packet.get()), drain();
        av_packet_unref(packet.get());
    }
    avcodec_send_packet(c.get(), nullptr), drain();
    return out;
}
