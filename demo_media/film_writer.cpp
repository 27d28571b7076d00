#include "demo_media/film_writer.hpp"

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/opt.h>
#include <libswscale/swscale.h>
}

namespace canalogue::demo {

namespace {

// With a fixed thread count and the bit-exact flags the encoders give the same bytes each time.
constexpr int kVideoThreads = 2;
constexpr int kKeyframeSeconds = 2;

Failure cannot(const std::string& what) {
    return machine_trouble("The demo film cannot be written (" + what +
                           "); check the disk and that the video encoders are installed.");
}

struct Free {
    void operator()(AVCodecContext* c) const { avcodec_free_context(&c); }
    void operator()(AVFrame* f) const { av_frame_free(&f); }
    void operator()(AVPacket* p) const { av_packet_free(&p); }
    void operator()(SwsContext* s) const { sws_freeContext(s); }
    void operator()(AVFormatContext* f) const {
        if (f->pb) avio_closep(&f->pb);
        avformat_free_context(f);
    }
};
template <class T>
using Owned = std::unique_ptr<T, Free>;

// The two sides' stream, encoder and, for sound, samples not yet a full packet.
struct Track {
    Owned<AVCodecContext> encoder;
    AVStream* stream = nullptr;
};

}  // namespace

struct FilmFrame {
    Owned<AVFrame> planes;
};
void FilmFrameGone::operator()(FilmFrame* frame) const {
    delete frame;
}

FilmFramePtr film_frame(const cv::Mat3b& bgr, int number) {
    FilmFramePtr out(new FilmFrame{Owned<AVFrame>(av_frame_alloc())});
    AVFrame* f = out->planes.get();
    if (!f) return nullptr;
    f->format = AV_PIX_FMT_YUV420P, f->width = bgr.cols, f->height = bgr.rows, f->pts = number;
    f->color_range = AVCOL_RANGE_MPEG, f->colorspace = AVCOL_SPC_BT709;
    f->color_primaries = AVCOL_PRI_BT709, f->color_trc = AVCOL_TRC_BT709;
    if (av_frame_get_buffer(f, 0) < 0) return nullptr;
    Owned<SwsContext> sws(sws_getContext(bgr.cols, bgr.rows, AV_PIX_FMT_BGR24, bgr.cols, bgr.rows,
                                         AV_PIX_FMT_YUV420P, SWS_BILINEAR | SWS_BITEXACT, nullptr, nullptr,
                                         nullptr));
    if (!sws) return nullptr;
    const int* bt709 = sws_getCoefficients(SWS_CS_ITU709);
    sws_setColorspaceDetails(sws.get(), bt709, 1, bt709, 0, 0, 1 << 16, 1 << 16);
    const std::uint8_t* from[] = {bgr.data};
    const int stride[] = {int(bgr.step[0])};
    sws_scale(sws.get(), from, stride, 0, bgr.rows, f->data, f->linesize);
    return out;
}

struct FilmWriter::Inside {
    Owned<AVFormatContext> file;
    Track video, audio;
    Owned<AVPacket> packet{av_packet_alloc()};
    std::vector<float> pending;
    std::int64_t samples = 0;

    Result<void> add_video(const FilmForm& form);
    Result<void> add_audio();
    Result<void> begin(const std::filesystem::path& path, const FilmForm& form);
    Result<void> encode(Track& track, const AVFrame* frame);
    Result<void> sound_packets(bool last);
};

FilmWriter::FilmWriter(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
FilmWriter::FilmWriter(FilmWriter&&) noexcept = default;
FilmWriter& FilmWriter::operator=(FilmWriter&&) noexcept = default;
FilmWriter::~FilmWriter() = default;

Result<void> FilmWriter::Inside::add_video(const FilmForm& form) {
    const AVCodec* codec = avcodec_find_encoder_by_name("libx264");
    if (!codec) return cannot("no H.264 encoder");
    video.encoder.reset(avcodec_alloc_context3(codec));
    AVCodecContext* c = video.encoder.get();
    c->width = form.size.width, c->height = form.size.height, c->pix_fmt = AV_PIX_FMT_YUV420P;
    c->time_base = {1, form.frames_per_second}, c->framerate = {form.frames_per_second, 1};
    c->gop_size = kKeyframeSeconds * form.frames_per_second, c->thread_count = kVideoThreads;
    c->color_range = AVCOL_RANGE_MPEG, c->colorspace = AVCOL_SPC_BT709;
    c->color_primaries = AVCOL_PRI_BT709, c->color_trc = AVCOL_TRC_BT709;
    c->sample_aspect_ratio = {1, 1};
    c->log_level_offset = AV_LOG_VERBOSE - AV_LOG_WARNING;  // keeps the encoders' chatter off the console
    c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER | AV_CODEC_FLAG_BITEXACT;
    av_opt_set(c->priv_data, "preset", "veryfast", 0);
    av_opt_set(c->priv_data, "crf", "20", 0);
    // x264 0.164 does not repeat itself with B-frames and macroblock trees: from the second film of one
    // process on, bits differ.
    av_opt_set(c->priv_data, "mbtree", "0", 0);
    if (avcodec_open2(c, codec, nullptr) < 0) return cannot("the H.264 encoder does not start");
    video.stream = avformat_new_stream(file.get(), nullptr);
    if (!video.stream || avcodec_parameters_from_context(video.stream->codecpar, c) < 0)
        return cannot("no video track");
    video.stream->time_base = c->time_base, video.stream->avg_frame_rate = c->framerate;
    return {};
}

Result<void> FilmWriter::Inside::add_audio() {
    const AVCodec* codec = avcodec_find_encoder_by_name("aac");
    if (!codec) return cannot("no AAC encoder");
    audio.encoder.reset(avcodec_alloc_context3(codec));
    AVCodecContext* c = audio.encoder.get();
    c->sample_rate = kSoundRate, c->sample_fmt = AV_SAMPLE_FMT_FLTP, c->bit_rate = 96000;
    c->ch_layout = AV_CHANNEL_LAYOUT_MONO, c->time_base = {1, kSoundRate}, c->thread_count = 1;
    c->log_level_offset = AV_LOG_VERBOSE - AV_LOG_WARNING;
    c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER | AV_CODEC_FLAG_BITEXACT;
    if (avcodec_open2(c, codec, nullptr) < 0) return cannot("the AAC encoder does not start");
    audio.stream = avformat_new_stream(file.get(), nullptr);
    if (!audio.stream || avcodec_parameters_from_context(audio.stream->codecpar, c) < 0)
        return cannot("no sound track");
    audio.stream->time_base = c->time_base;
    return {};
}

Result<void> FilmWriter::Inside::begin(const std::filesystem::path& path, const FilmForm& form) {
    AVFormatContext* made = nullptr;
    if (avformat_alloc_output_context2(&made, nullptr, "mp4", nullptr) < 0) return cannot("no MP4 writer");
    file.reset(made);
    file->flags |= AVFMT_FLAG_BITEXACT;
    if (auto r = add_video(form); !r) return r;
    if (auto r = add_audio(); !r) return r;
    for (const auto& [key, value] : form.about) av_dict_set(&file->metadata, key.c_str(), value.c_str(), 0);
    if (avio_open(&file->pb, path.c_str(), AVIO_FLAG_WRITE) < 0)
        return machine_trouble(
            "The demo film cannot be written into its folder; choose a folder you may write to.");
    if (avformat_write_header(file.get(), nullptr) < 0) return cannot("the file's head");
    return {};
}

Result<FilmWriter> FilmWriter::open(const std::filesystem::path& path, const FilmForm& form) {
    auto inside = std::make_unique<Inside>();
    if (auto r = inside->begin(path, form); !r) return r.failure();
    return FilmWriter(std::move(inside));
}

Result<void> FilmWriter::Inside::encode(Track& track, const AVFrame* frame) {
    if (avcodec_send_frame(track.encoder.get(), frame) < 0) return cannot("encoding");
    for (;;) {
        const int got = avcodec_receive_packet(track.encoder.get(), packet.get());
        if (got == AVERROR(EAGAIN) || got == AVERROR_EOF) return {};
        if (got < 0) return cannot("encoding");
        packet->stream_index = track.stream->index;
        if (packet->duration == 0 && &track == &video) packet->duration = 1;
        av_packet_rescale_ts(packet.get(), track.encoder->time_base, track.stream->time_base);
        if (av_interleaved_write_frame(file.get(), packet.get()) < 0) return cannot("the disk may be full");
    }
}

Result<void> FilmWriter::picture(const FilmFrame& frame) {
    return inside_->encode(inside_->video, frame.planes.get());
}

Result<void> FilmWriter::Inside::sound_packets(bool last) {
    const auto full = std::size_t(audio.encoder->frame_size);
    std::size_t at = 0;
    while (pending.size() - at >= full || (last && at < pending.size())) {
        const std::size_t n = std::min(full, pending.size() - at);
        Owned<AVFrame> f(av_frame_alloc());
        f->format = AV_SAMPLE_FMT_FLTP, f->nb_samples = int(n), f->sample_rate = kSoundRate, f->pts = samples;
        f->ch_layout = AV_CHANNEL_LAYOUT_MONO;
        if (av_frame_get_buffer(f.get(), 0) < 0) return cannot("out of memory");
        std::copy_n(pending.begin() + std::ptrdiff_t(at), n, reinterpret_cast<float*>(f->data[0]));
        if (auto r = encode(audio, f.get()); !r) return r;
        at += n, samples += std::int64_t(n);
    }
    pending.erase(pending.begin(), pending.begin() + std::ptrdiff_t(at));
    return {};
}

Result<void> FilmWriter::sound(std::span<const float> samples) {
    inside_->pending.insert(inside_->pending.end(), samples.begin(), samples.end());
    return inside_->sound_packets(false);
}

Result<void> FilmWriter::finish() {
    if (auto r = inside_->sound_packets(true); !r) return r;
    if (auto r = inside_->encode(inside_->video, nullptr); !r) return r;
    if (auto r = inside_->encode(inside_->audio, nullptr); !r) return r;
    if (av_write_trailer(inside_->file.get()) < 0) return cannot("the file's end");
    if (avio_closep(&inside_->file->pb) < 0) return cannot("the disk may be full");
    return {};
}

}  // namespace canalogue::demo
