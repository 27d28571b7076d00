#include "demo_media/labelled/media_file.hpp"

#include <cstring>
#include <opencv2/imgproc.hpp>

#include "demo_media/labelled/sound.hpp"

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/display.h>
#include <libavutil/opt.h>
#include <libswscale/swscale.h>
}

namespace canalogue::demo::labelled {

namespace {

constexpr int kThreads = 2, kPcmPacket = 1024;

Failure cannot(const std::string& what) {
    return machine_trouble("The labelled session's film cannot be written (" + what +
                           "); check the disk and that the encoders are installed.");
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

struct Track {
    Owned<AVCodecContext> encoder;
    AVStream* stream = nullptr;
};

const char* muxer_of(const std::string& container) {
    return container == "mkv" ? "matroska" : container.c_str();
}

void set_colour(AVCodecContext* c, bool grey, bool high, bool full) {
    c->color_range = grey || full ? AVCOL_RANGE_JPEG : AVCOL_RANGE_MPEG;
    if (grey) return;
    c->colorspace = high ? AVCOL_SPC_BT709 : AVCOL_SPC_SMPTE170M;
    c->color_primaries = high ? AVCOL_PRI_BT709 : AVCOL_PRI_SMPTE170M;
    c->color_trc = high ? AVCOL_TRC_BT709 : AVCOL_TRC_SMPTE170M;
}

void set_quality(AVCodecContext* c, const std::string& video) {
    if (video == "libx264") {
        av_opt_set(c->priv_data, "preset", "veryfast", 0);
        av_opt_set(c->priv_data, "crf", "21", 0);
        av_opt_set(c->priv_data, "mbtree", "0", 0);
    } else if (video == "ffv1") {
        c->level = 3, c->slices = 4;
        av_opt_set(c->priv_data, "slicecrc", "1", 0);
    } else {
        c->flags |= AV_CODEC_FLAG_QSCALE, c->global_quality = 4 * FF_QP2LAMBDA;
    }
}

}  // namespace

struct MediaFile::Inside {
    FileForm form;
    Owned<AVFormatContext> file;
    Track video, audio;
    Owned<SwsContext> sws;  // of a field when interlaced
    Owned<AVPacket> packet{av_packet_alloc()};
    std::vector<float> pending;
    std::int64_t samples = 0;

    Result<void> add_video();
    Result<void> add_audio();
    Result<void> add_attachment();
    void add_chapter();
    Result<void> begin(const std::filesystem::path& path);
    Result<void> encode(Track& track, const AVFrame* frame);
    Result<void> sound_packets(bool last);
    bool grey() const { return form.video == "ffv1"; }
    void convert(const cv::Mat& stored, AVFrame* frame);
};

MediaFile::MediaFile(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
MediaFile::MediaFile(MediaFile&&) noexcept = default;
MediaFile& MediaFile::operator=(MediaFile&&) noexcept = default;
MediaFile::~MediaFile() = default;

Result<void> MediaFile::Inside::add_video() {
    const AVCodec* codec = avcodec_find_encoder_by_name(form.video.c_str());
    if (!codec) return cannot("no encoder " + form.video);
    video.encoder.reset(avcodec_alloc_context3(codec));
    AVCodecContext* c = video.encoder.get();
    const cv::Size s = form.turned ? cv::Size{form.size.height, form.size.width} : form.size;
    const bool jpeg = form.video == "mjpeg";
    c->width = s.width, c->height = s.height;
    c->pix_fmt = grey() ? AV_PIX_FMT_GRAY8 : jpeg ? AV_PIX_FMT_YUVJ420P : AV_PIX_FMT_YUV420P;
    c->time_base = {1, form.ticks}, c->framerate = {form.rate, 1};
    c->gop_size = grey() ? 1 : 2 * form.rate, c->thread_count = kThreads;
    c->max_b_frames = form.container == "avi" || form.video == "mpeg4" ? 0 : c->max_b_frames;
    c->sample_aspect_ratio = {1, 1};
    c->log_level_offset = AV_LOG_VERBOSE - AV_LOG_WARNING;
    c->flags |= AV_CODEC_FLAG_BITEXACT;
    if (file->oformat->flags & AVFMT_GLOBALHEADER) c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
    set_colour(c, grey(), form.size.height >= 720, jpeg);
    if (form.interlaced && !grey()) {
        c->flags |= AV_CODEC_FLAG_INTERLACED_DCT | AV_CODEC_FLAG_INTERLACED_ME;
        c->field_order = AV_FIELD_TT;
    }
    set_quality(c, form.video);
    if (avcodec_open2(c, codec, nullptr) < 0) return cannot("the encoder " + form.video + " does not start");
    video.stream = avformat_new_stream(file.get(), nullptr);
    if (!video.stream || avcodec_parameters_from_context(video.stream->codecpar, c) < 0) return cannot("no video track");
    video.stream->time_base = c->time_base;
    if (form.ticks == form.rate) video.stream->avg_frame_rate = video.stream->r_frame_rate = c->framerate;
    if (!form.handler.empty()) av_dict_set(&video.stream->metadata, "handler_name", form.handler.c_str(), 0);
    if (form.turned) {
        auto* matrix = reinterpret_cast<std::int32_t*>(
            av_stream_new_side_data(video.stream, AV_PKT_DATA_DISPLAYMATRIX, 9 * sizeof(std::int32_t)));
        if (!matrix) return cannot("out of memory");
        av_display_rotation_set(matrix, 90);
    }
    return {};
}

Result<void> MediaFile::Inside::add_audio() {
    const AVCodec* codec = avcodec_find_encoder_by_name(form.sound.c_str());
    if (!codec) return cannot("no encoder " + form.sound);
    audio.encoder.reset(avcodec_alloc_context3(codec));
    AVCodecContext* c = audio.encoder.get();
    c->sample_rate = kSoundRate, c->sample_fmt = codec->sample_fmts[0], c->bit_rate = 128000;
    c->ch_layout = AV_CHANNEL_LAYOUT_MONO, c->time_base = {1, kSoundRate}, c->thread_count = 1;
    c->log_level_offset = AV_LOG_VERBOSE - AV_LOG_WARNING;
    c->flags |= AV_CODEC_FLAG_BITEXACT;
    if (file->oformat->flags & AVFMT_GLOBALHEADER) c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
    if (avcodec_open2(c, codec, nullptr) < 0) return cannot("the encoder " + form.sound + " does not start");
    audio.stream = avformat_new_stream(file.get(), nullptr);
    if (!audio.stream || avcodec_parameters_from_context(audio.stream->codecpar, c) < 0) return cannot("no sound track");
    audio.stream->time_base = c->time_base;
    return {};
}

Result<void> MediaFile::Inside::add_attachment() {
    AVStream* s = avformat_new_stream(file.get(), nullptr);
    const std::string body = "Invented test letter: " + form.attachment + "\n";
    auto* bytes = static_cast<std::uint8_t*>(av_mallocz(body.size() + AV_INPUT_BUFFER_PADDING_SIZE));
    if (!s || !bytes) return cannot("out of memory");
    std::memcpy(bytes, body.data(), body.size());
    s->codecpar->codec_type = AVMEDIA_TYPE_ATTACHMENT, s->codecpar->codec_id = AV_CODEC_ID_TEXT;
    s->codecpar->extradata = bytes, s->codecpar->extradata_size = int(body.size());
    av_dict_set(&s->metadata, "filename", form.attachment.c_str(), 0);
    av_dict_set(&s->metadata, "mimetype", "text/plain", 0);
    return {};
}

// libavformat frees it with the file.
void MediaFile::Inside::add_chapter() {
    auto* chapter = static_cast<AVChapter*>(av_mallocz(sizeof(AVChapter)));
    auto** list = static_cast<AVChapter**>(av_malloc(sizeof(AVChapter*)));
    chapter->id = 1, chapter->time_base = {1, 1000}, chapter->end = std::int64_t(form.seconds * 1000);
    av_dict_set(&chapter->metadata, "title", form.chapter.c_str(), 0);
    list[0] = chapter;
    file->chapters = list, file->nb_chapters = 1;
}

Result<void> MediaFile::Inside::begin(const std::filesystem::path& path) {
    AVFormatContext* made = nullptr;
    if (avformat_alloc_output_context2(&made, nullptr, muxer_of(form.container), nullptr) < 0)
        return cannot("no writer for " + form.container);
    file.reset(made);
    file->flags |= AVFMT_FLAG_BITEXACT;
    if (auto r = add_video(); !r) return r;
    if (!form.sound.empty())
        if (auto r = add_audio(); !r) return r;
    if (!form.attachment.empty())
        if (auto r = add_attachment(); !r) return r;
    if (!form.chapter.empty()) add_chapter();
    for (const auto& [key, value] : form.metadata) av_dict_set(&file->metadata, key.c_str(), value.c_str(), 0);
    if (avio_open(&file->pb, path.c_str(), AVIO_FLAG_WRITE) < 0)
        return machine_trouble("The labelled session cannot be written into its folder; choose a folder you may write to.");
    if (avformat_write_header(file.get(), nullptr) < 0) return cannot("the file's head");
    return {};
}

Result<MediaFile> MediaFile::open(const std::filesystem::path& path, const FileForm& form) {
    auto inside = std::make_unique<Inside>();
    inside->form = form;
    if (auto r = inside->begin(path); !r) return r.failure();
    return MediaFile(std::move(inside));
}

Result<void> MediaFile::Inside::encode(Track& track, const AVFrame* frame) {
    if (avcodec_send_frame(track.encoder.get(), frame) < 0) return cannot("encoding");
    for (;;) {
        const int got = avcodec_receive_packet(track.encoder.get(), packet.get());
        if (got == AVERROR(EAGAIN) || got == AVERROR_EOF) return {};
        if (got < 0) return cannot("encoding");
        packet->stream_index = track.stream->index;
        if (packet->duration == 0 && &track == &video) packet->duration = std::max(1, form.ticks / form.rate);
        av_packet_rescale_ts(packet.get(), track.encoder->time_base, track.stream->time_base);
        if (av_interleaved_write_frame(file.get(), packet.get()) < 0) return cannot("the disk may be full");
    }
}

// Fields are converted each by itself: colour of 4:2:0 must not mix two instants.
void MediaFile::Inside::convert(const cv::Mat& stored, AVFrame* f) {
    const int fields = form.interlaced ? 2 : 1, lines = stored.rows / fields;
    if (!sws) {
        sws.reset(sws_getContext(stored.cols, lines, AV_PIX_FMT_BGR24, stored.cols, lines, AV_PIX_FMT_YUV420P,
                                 SWS_BILINEAR | SWS_BITEXACT, nullptr, nullptr, nullptr));
        const bool full = form.video == "mjpeg", high = form.size.height >= 720;
        const int* matrix = sws_getCoefficients(high ? SWS_CS_ITU709 : SWS_CS_ITU601);
        sws_setColorspaceDetails(sws.get(), matrix, 1, matrix, full, 0, 1 << 16, 1 << 16);
    }
    for (int k = 0; k < fields; ++k) {
        const std::uint8_t* from[] = {stored.data + std::size_t(k) * stored.step[0]};
        const int stride[] = {int(stored.step[0]) * fields};
        std::uint8_t* to[3];
        int into[3];
        for (int p = 0; p < 3; ++p) to[p] = f->data[p] + k * f->linesize[p], into[p] = f->linesize[p] * fields;
        sws_scale(sws.get(), from, stride, 0, lines, to, into);
    }
}

Result<void> MediaFile::picture(const cv::Mat& upright, std::int64_t tick) {
    Inside& in = *inside_;
    cv::Mat stored = upright;
    if (in.form.turned) cv::rotate(upright, stored, cv::ROTATE_90_COUNTERCLOCKWISE);
    Owned<AVFrame> f(av_frame_alloc());
    const AVCodecContext* c = in.video.encoder.get();
    f->format = c->pix_fmt, f->width = c->width, f->height = c->height, f->pts = tick;
    f->color_range = c->color_range, f->colorspace = c->colorspace;
    f->color_primaries = c->color_primaries, f->color_trc = c->color_trc;
    f->quality = c->global_quality;
    if (in.form.interlaced && !in.grey()) f->interlaced_frame = 1, f->top_field_first = 1;
    if (av_frame_get_buffer(f.get(), 0) < 0) return cannot("out of memory");
    if (in.grey()) {
        for (int y = 0; y < stored.rows; ++y)
            std::memcpy(f->data[0] + std::ptrdiff_t(y) * f->linesize[0], stored.ptr(y), std::size_t(stored.cols));
    } else {
        in.convert(stored, f.get());
    }
    return in.encode(in.video, f.get());
}

Result<void> MediaFile::Inside::sound_packets(bool last) {
    AVCodecContext* c = audio.encoder.get();
    const auto full = std::size_t(c->frame_size > 0 ? c->frame_size : kPcmPacket);
    std::size_t at = 0;
    while (pending.size() - at >= full || (last && at < pending.size())) {
        const std::size_t n = std::min(full, pending.size() - at);
        Owned<AVFrame> f(av_frame_alloc());
        f->format = c->sample_fmt, f->nb_samples = int(n), f->sample_rate = kSoundRate, f->pts = samples;
        f->ch_layout = AV_CHANNEL_LAYOUT_MONO;
        if (av_frame_get_buffer(f.get(), 0) < 0) return cannot("out of memory");
        for (std::size_t i = 0; i < n; ++i) {
            const float v = pending[at + i];
            if (c->sample_fmt == AV_SAMPLE_FMT_FLTP)
                reinterpret_cast<float*>(f->data[0])[i] = v;
            else
                reinterpret_cast<std::int16_t*>(f->data[0])[i] = std::int16_t(std::lround(v * 32767));
        }
        if (auto r = encode(audio, f.get()); !r) return r;
        at += n, samples += std::int64_t(n);
    }
    pending.erase(pending.begin(), pending.begin() + std::ptrdiff_t(at));
    return {};
}

Result<void> MediaFile::sound(std::span<const float> samples) {
    inside_->pending.insert(inside_->pending.end(), samples.begin(), samples.end());
    return inside_->sound_packets(false);
}

Result<void> MediaFile::finish() {
    if (inside_->audio.stream) {
        if (auto r = inside_->sound_packets(true); !r) return r;
        if (auto r = inside_->encode(inside_->audio, nullptr); !r) return r;
    }
    if (auto r = inside_->encode(inside_->video, nullptr); !r) return r;
    if (av_write_trailer(inside_->file.get()) < 0) return cannot("the file's end");
    if (avio_closep(&inside_->file->pb) < 0) return cannot("the disk may be full");
    return {};
}

}  // namespace canalogue::demo::labelled
