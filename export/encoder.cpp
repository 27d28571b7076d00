#include "export/encoder.hpp"

#include <cstring>
#include <fstream>

extern "C" {
#include <libavcodec/bsf.h>
}

namespace canalogue::film {

namespace {

using media::CodecPtr;
using media::FormatPtr;
using media::FramePtr;
using media::PacketPtr;

struct BsfDelete {
    void operator()(AVBSFContext* b) const { av_bsf_free(&b); }
};

constexpr int kSoundBitRate = 160'000;
constexpr int kKeyframeSeconds = 2;  // players seek to within this without waiting

Failure encoder_missing() {
    return machine_trouble("The film cannot be encoded: this FFmpeg has no libx264 or no AAC encoder; install Debian's own FFmpeg.");
}

Failure cannot_write(int error) {
    if (error == AVERROR(ENOSPC)) return machine_trouble("The disk is full: free some space and render again. Nothing was left behind.");
    return machine_trouble("The film cannot be written (" + media::libav_words(error) + "): check the folder given with --out.");
}

// "en-GB" -> "eng" for the MP4 language field; und when unknown.
const char* iso639(const std::string& language) {
    static constexpr std::pair<const char*, const char*> kTable[] = {{"en", "eng"}, {"de", "deu"}, {"fr", "fra"}, {"es", "spa"}, {"cy", "cym"}, {"ga", "gle"}, {"it", "ita"}, {"nl", "nld"}};
    for (const auto& [two, three] : kTable)
        if (language.substr(0, 2) == two) return three;
    return "und";
}

}  // namespace

struct Encoder::State {
    AVFormatContext* format = nullptr;
    CodecPtr video, audio;
    std::unique_ptr<AVBSFContext, BsfDelete> strip;  // takes encoder notes out of the picture stream
    AVStream* video_stream = nullptr;
    AVStream* audio_stream = nullptr;
    PacketPtr packet{av_packet_alloc()};
    std::int64_t pictures = 0, sounded = 0;
    media::Samples rest;
    bool header = false;

    ~State() {
        if (!format) return;
        if (format->pb) avio_closep(&format->pb);
        avformat_free_context(format);
    }

    Result<void> open_video(const FilmSettings& film) {
        const AVCodec* codec = avcodec_find_encoder_by_name("libx264");
        video.reset(codec ? avcodec_alloc_context3(codec) : nullptr);
        if (!video) return encoder_missing();
        AVCodecContext& c = *video;
        c.width = film.size.w, c.height = film.size.h;
        c.pix_fmt = AV_PIX_FMT_YUV420P;
        c.time_base = {1, film.frames_per_second};
        c.framerate = {film.frames_per_second, 1};
        c.sample_aspect_ratio = {1, 1};
        c.gop_size = kKeyframeSeconds * film.frames_per_second;
        c.color_primaries = AVCOL_PRI_BT709, c.color_trc = AVCOL_TRC_BT709, c.colorspace = AVCOL_SPC_BT709;
        c.color_range = AVCOL_RANGE_MPEG;
        c.thread_count = kEncoderThreads;
        c.flags |= AV_CODEC_FLAG_GLOBAL_HEADER | AV_CODEC_FLAG_BITEXACT;
        av_opt_set(c.priv_data, "preset", kPreset, 0);
        av_opt_set_double(c.priv_data, "crf", kCrf, 0);
        // With macroblock trees libx264 (0.164) gives other bytes from the second film of a process on.
        av_opt_set(c.priv_data, "x264-params", kX264Parameters, 0);
        if (avcodec_open2(video.get(), codec, nullptr) < 0) return encoder_missing();
        video_stream = avformat_new_stream(format, nullptr);
        const AVBitStreamFilter* filter = av_bsf_get_by_name("filter_units");
        AVBSFContext* raw = nullptr;
        if (!video_stream || !filter || av_bsf_alloc(filter, &raw) < 0) return encoder_missing();
        strip.reset(raw);
        avcodec_parameters_from_context(raw->par_in, video.get());
        raw->time_base_in = c.time_base;
        av_opt_set(raw->priv_data, "remove_types", "6", 0);  // NAL type 6: SEI, where x264 writes its settings
        if (av_bsf_init(raw) < 0) return encoder_missing();
        avcodec_parameters_copy(video_stream->codecpar, raw->par_out);
        video_stream->time_base = c.time_base;
        video_stream->avg_frame_rate = c.framerate;
        return {};
    }

    Result<void> open_audio(const std::string& language) {
        const AVCodec* codec = avcodec_find_encoder(AV_CODEC_ID_AAC);
        audio.reset(codec ? avcodec_alloc_context3(codec) : nullptr);
        if (!audio) return encoder_missing();
        AVCodecContext& c = *audio;
        c.sample_rate = media::kSoundRate;
        c.sample_fmt = AV_SAMPLE_FMT_FLTP;
        c.bit_rate = kSoundBitRate;
        c.time_base = {1, media::kSoundRate};
        c.ch_layout = AV_CHANNEL_LAYOUT_STEREO;
        c.flags |= AV_CODEC_FLAG_GLOBAL_HEADER | AV_CODEC_FLAG_BITEXACT;
        if (avcodec_open2(audio.get(), codec, nullptr) < 0) return encoder_missing();
        audio_stream = avformat_new_stream(format, nullptr);
        if (!audio_stream) return encoder_missing();
        avcodec_parameters_from_context(audio_stream->codecpar, audio.get());
        audio_stream->time_base = c.time_base;
        av_dict_set(&audio_stream->metadata, "language", iso639(language), 0);
        return {};
    }

    Result<void> add_chapters(const std::vector<Chapter>& chapters, Nanos length) {
        if (chapters.empty()) return {};
        format->chapters = static_cast<AVChapter**>(av_calloc(chapters.size(), sizeof(AVChapter*)));
        if (!format->chapters) return machine_trouble("There is not enough memory to write the film; close other programs.");
        for (std::size_t i = 0; i < chapters.size(); ++i) {
            auto* chapter = static_cast<AVChapter*>(av_mallocz(sizeof(AVChapter)));
            if (!chapter) return machine_trouble("There is not enough memory to write the film; close other programs.");
            chapter->id = static_cast<std::int64_t>(i);
            chapter->time_base = {1, 1000};
            chapter->start = chapters[i].start.ns / kMillisecond;
            chapter->end = (i + 1 < chapters.size() ? chapters[i + 1].start.ns : length) / kMillisecond;
            av_dict_set(&chapter->metadata, "title", chapters[i].title.c_str(), 0);
            format->chapters[format->nb_chapters++] = chapter;
        }
        return {};
    }

    Result<void> write(AVPacket* p, AVRational from, AVStream* stream) {
        av_packet_rescale_ts(p, from, stream->time_base);
        p->stream_index = stream->index;
        if (const int written = av_interleaved_write_frame(format, p); written < 0) return cannot_write(written);
        return {};
    }

    Result<void> drain_strip() {
        while (av_bsf_receive_packet(strip.get(), packet.get()) >= 0)
            if (auto done = write(packet.get(), video->time_base, video_stream); !done) return done;
        return {};
    }

    Result<void> drain_video() {
        while (avcodec_receive_packet(video.get(), packet.get()) >= 0) {
            packet->duration = 1;
            if (av_bsf_send_packet(strip.get(), packet.get()) < 0) return encoder_missing();
            if (auto done = drain_strip(); !done) return done;
        }
        return {};
    }

    Result<void> drain_audio() {
        while (avcodec_receive_packet(audio.get(), packet.get()) >= 0)
            if (auto done = write(packet.get(), audio->time_base, audio_stream); !done) return done;
        return {};
    }

    Result<void> encode_sound(const float* interleaved, int count) {
        FramePtr frame(av_frame_alloc());
        frame->format = AV_SAMPLE_FMT_FLTP;
        frame->nb_samples = count;
        frame->sample_rate = media::kSoundRate;
        av_channel_layout_copy(&frame->ch_layout, &audio->ch_layout);
        if (av_frame_get_buffer(frame.get(), 0) < 0) return machine_trouble("There is not enough memory to write the film; close other programs.");
        for (int i = 0; i < count; ++i)
            for (int c = 0; c < 2; ++c) reinterpret_cast<float*>(frame->data[c])[i] = interleaved[i * 2 + c];
        frame->pts = sounded;
        sounded += count;
        if (avcodec_send_frame(audio.get(), frame.get()) < 0) return encoder_missing();
        return drain_audio();
    }
};

Encoder::Encoder(std::unique_ptr<State> state) : state_(std::move(state)) {}
Encoder::Encoder(Encoder&&) noexcept = default;
Encoder& Encoder::operator=(Encoder&&) noexcept = default;
Encoder::~Encoder() = default;

Result<Encoder> Encoder::open(const std::filesystem::path& file, const FilmSettings& film, const std::string& language,
                              const std::vector<Chapter>& chapters, Nanos length, bool with_sound) {
    media::quiet_libav();
    auto state = std::make_unique<State>();
    if (avformat_alloc_output_context2(&state->format, nullptr, "mp4", nullptr) < 0) return encoder_missing();
    state->format->flags |= AVFMT_FLAG_BITEXACT;
    if (auto done = state->open_video(film); !done) return done.failure();
    if (with_sound)
        if (auto done = state->open_audio(language); !done) return done.failure();
    if (auto done = state->add_chapters(chapters, length); !done) return done.failure();
    // The muxer opens the file by this name once more when it moves the header to the front.
    state->format->url = av_strdup(("file:" + file.string()).c_str());
    if (const int opened = avio_open(&state->format->pb, state->format->url, AVIO_FLAG_WRITE); opened < 0) return cannot_write(opened);
    AVDictionary* options = nullptr;
    av_dict_set(&options, "movflags", "+faststart", 0);
    const int written = avformat_write_header(state->format, &options);
    av_dict_free(&options);
    if (written < 0) return cannot_write(written);
    return Encoder(std::move(state));
}

Result<void> Encoder::picture(FramePtr frame) {
    frame->pts = state_->pictures++;
    frame->pict_type = AV_PICTURE_TYPE_NONE;
    if (avcodec_send_frame(state_->video.get(), frame.get()) < 0) return encoder_missing();
    return state_->drain_video();
}

Result<void> Encoder::sound(const media::Samples& samples) {
    State& s = *state_;
    s.rest.insert(s.rest.end(), samples.begin(), samples.end());
    const auto block = static_cast<std::size_t>(s.audio->frame_size) * 2;
    std::size_t at = 0;
    for (; s.rest.size() - at >= block; at += block)
        if (auto done = s.encode_sound(s.rest.data() + at, s.audio->frame_size); !done) return done;
    s.rest.erase(s.rest.begin(), s.rest.begin() + static_cast<std::ptrdiff_t>(at));
    return {};
}

Result<void> Encoder::finish() {
    State& s = *state_;
    if (avcodec_send_frame(s.video.get(), nullptr) < 0) return encoder_missing();
    if (auto done = s.drain_video(); !done) return done;
    av_bsf_send_packet(s.strip.get(), nullptr);
    if (auto done = s.drain_strip(); !done) return done;
    if (s.audio) {
        if (!s.rest.empty())
            if (auto done = s.encode_sound(s.rest.data(), static_cast<int>(s.rest.size() / 2)); !done) return done;
        avcodec_send_frame(s.audio.get(), nullptr);
        if (auto done = s.drain_audio(); !done) return done;
    }
    if (const int written = av_write_trailer(s.format); written < 0) return cannot_write(written);
    if (const int closed = avio_closep(&s.format->pb); closed < 0) return cannot_write(closed);
    return {};
}

Result<void> write_jpeg(const std::filesystem::path& file, const AVFrame& frame) {
    const AVCodec* codec = avcodec_find_encoder(AV_CODEC_ID_MJPEG);
    CodecPtr encoder(codec ? avcodec_alloc_context3(codec) : nullptr);
    media::Scaler scaler;
    const media::Colour film{media::Colour::Matrix::bt709, false}, jpeg{media::Colour::Matrix::bt601, true};
    const Size size{frame.width, frame.height};
    // Through RGB, since the JPEG file format fixes BT.601 full range (JFIF).
    SwsContext* to_rgb = scaler.prepare(frame, film, size, AV_PIX_FMT_RGB24, {media::Colour::Matrix::bt709, true});
    FramePtr rgb = media::make_frame(AV_PIX_FMT_RGB24, size), yuv = media::make_frame(AV_PIX_FMT_YUVJ420P, size);
    if (!encoder || !to_rgb || !rgb || !yuv) return machine_trouble("There is not enough memory for a still; close other programs.");
    sws_scale(to_rgb, frame.data, frame.linesize, 0, frame.height, rgb->data, rgb->linesize);
    media::Scaler second;
    SwsContext* to_yuv = second.prepare(*rgb, {media::Colour::Matrix::bt709, true}, size, AV_PIX_FMT_YUV420P, jpeg);
    if (!to_yuv) return machine_trouble("There is not enough memory for a still; close other programs.");
    sws_scale(to_yuv, rgb->data, rgb->linesize, 0, size.h, yuv->data, yuv->linesize);
    encoder->width = size.w, encoder->height = size.h;
    encoder->pix_fmt = AV_PIX_FMT_YUVJ420P;
    encoder->color_range = AVCOL_RANGE_JPEG;
    encoder->time_base = {1, 25};
    encoder->thread_count = 1;
    encoder->flags |= AV_CODEC_FLAG_BITEXACT | AV_CODEC_FLAG_QSCALE;
    encoder->global_quality = 3 * FF_QP2LAMBDA;
    yuv->quality = encoder->global_quality;
    PacketPtr packet(av_packet_alloc());
    if (avcodec_open2(encoder.get(), codec, nullptr) < 0 || avcodec_send_frame(encoder.get(), yuv.get()) < 0 ||
        avcodec_receive_packet(encoder.get(), packet.get()) < 0)
        return machine_trouble("A still cannot be encoded: this FFmpeg has no JPEG encoder.");
    std::ofstream out(file, std::ios::binary);
    out.write(reinterpret_cast<const char*>(packet->data), packet->size);
    if (!out.flush()) return machine_trouble("A still cannot be written: check the disk's free space.");
    return {};
}

}  // namespace canalogue::film
