#include "opened_film.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <memory>
#include <stdexcept>

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
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

Owned<AVCodecContext> decoder_for(const AVStream* stream) {
    Owned<AVCodecContext> c(avcodec_alloc_context3(avcodec_find_decoder(stream->codecpar->codec_id)));
    if (avcodec_parameters_to_context(c.get(), stream->codecpar) < 0 ||
        avcodec_open2(c.get(), nullptr, nullptr) < 0)
        throw std::runtime_error("no decoder");
    return c;
}

}  // namespace

OpenedFilm opened(const std::filesystem::path& file) {
    AVFormatContext* raw = nullptr;
    if (avformat_open_input(&raw, file.c_str(), nullptr, nullptr) < 0)
        throw std::runtime_error("cannot open");
    Owned<AVFormatContext> input(raw);
    if (avformat_find_stream_info(raw, nullptr) < 0) throw std::runtime_error("no streams");
    OpenedFilm film;
    film.seconds = double(raw->duration) / AV_TIME_BASE;
    const AVDictionaryEntry* tag = nullptr;
    while ((tag = av_dict_get(raw->metadata, "", tag, AV_DICT_IGNORE_SUFFIX)))
        film.about[tag->key] = tag->value;
    const int v = av_find_best_stream(raw, AVMEDIA_TYPE_VIDEO, -1, -1, nullptr, 0);
    const int a = av_find_best_stream(raw, AVMEDIA_TYPE_AUDIO, -1, -1, nullptr, 0);
    if (v < 0 || a < 0) throw std::runtime_error("picture or sound is missing");
    const AVCodecParameters *vp = raw->streams[v]->codecpar, *ap = raw->streams[a]->codecpar;
    film.video_codec = avcodec_get_name(vp->codec_id), film.sound_codec = avcodec_get_name(ap->codec_id);
    film.width = vp->width, film.height = vp->height;
    film.sound_rate = ap->sample_rate, film.channels = ap->ch_layout.nb_channels;
    film.bt709_limited = vp->format == AV_PIX_FMT_YUV420P && vp->color_space == AVCOL_SPC_BT709 &&
                         vp->color_primaries == AVCOL_PRI_BT709 && vp->color_trc == AVCOL_TRC_BT709 &&
                         vp->color_range == AVCOL_RANGE_MPEG;
    const auto video = decoder_for(raw->streams[v]), sound = decoder_for(raw->streams[a]);
    Owned<AVPacket> packet(av_packet_alloc());
    Owned<AVFrame> frame(av_frame_alloc());
    const auto drain = [&](AVCodecContext* c) {
        while (avcodec_receive_frame(c, frame.get()) == 0) {
            if (c == video.get())
                film.frame_times.push_back(double(frame->best_effort_timestamp) *
                                           av_q2d(raw->streams[v]->time_base));
            else
                film.sound_seconds += double(frame->nb_samples) / frame->sample_rate;
        }
    };
    while (av_read_frame(raw, packet.get()) >= 0) {
        AVCodecContext* c = packet->stream_index == v ? video.get() : sound.get();
        avcodec_send_packet(c, packet.get());
        av_packet_unref(packet.get());
        drain(c);
    }
    for (AVCodecContext* c : {video.get(), sound.get()}) avcodec_send_packet(c, nullptr), drain(c);
    return film;
}

std::string bytes_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

ScratchFolder::ScratchFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "canalogue-demo-XXXXXX").string();
    if (!mkdtemp(name.data())) throw std::runtime_error("no scratch folder");
    path = name;
}

ScratchFolder::~ScratchFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
}
