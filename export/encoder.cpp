#include "export/encoder.hpp"

#include <cstring>
#include <fstream>

extern "C" {
#include <libavcodec/bsf.h>
}

namespace canalogue::film {

namespace {

using media::CodecPtr;
using media::FramePtr;
using media::PacketPtr;

struct BsfDelete {
    void operator()(AVBSFContext* b) const { av_bsf_free(&b); }
};

const char* codec_name(FilmFormat format) { return format == FilmFormat::webm ? "libvpx-vp9" : "libx264"; }

}  // namespace

std::string film_name(FilmFormat format) { return format == FilmFormat::webm ? "clip.webm" : "clip.mp4"; }

Failure encoder_missing() {
    return machine_trouble("The film cannot be encoded: this FFmpeg lacks an encoder (libx264 and AAC for mp4, libvpx-vp9 and libopus for webm); install Debian's own FFmpeg.");
}

Failure no_memory_for_film() { return machine_trouble("There is not enough memory to write the film; close other programs."); }

std::string described(const FilmSettings& film, const Coding& coding) {
    const Quality q = quality_of(film.target);
    const bool vp9 = film.format == FilmFormat::webm;
    return std::string(codec_name(film.format)) + " " + (vp9 ? std::string(kVp9Speed) : std::string(coding.preset) + " " + kX264Parameters) + " crf " + std::to_string(vp9 ? q.vp9_crf : q.h264_crf) +
           " threads " + std::to_string(kEncoderThreads) + " key " + std::to_string(kKeyframeSeconds) + " pass " + std::to_string(coding.pass) + " " + std::to_string(coding.bits_per_second);
}

struct PictureEncoder::State {
    CodecPtr codec;
    std::unique_ptr<AVBSFContext, BsfDelete> strip;  // takes encoder notes out of the picture stream; H.264 only
    AVCodecParameters* parameters = avcodec_parameters_alloc();
    PacketPtr packet{av_packet_alloc()};
    PassNotes* gather = nullptr;  // of a first pass with libvpx
    std::int64_t pictures = 0;

    State() = default;
    State(const State&) = delete;
    State& operator=(const State&) = delete;
    ~State() { avcodec_parameters_free(&parameters); }

    void set_h264(const FilmSettings& film, const Coding& coding) {
        AVCodecContext& c = *codec;
        av_opt_set(c.priv_data, "preset", coding.preset, 0);
        if (coding.pass == 2) c.bit_rate = coding.bits_per_second;
        else av_opt_set_double(c.priv_data, "crf", quality_of(film.target).h264_crf, 0);
        if (coding.notes) av_opt_set(c.priv_data, "stats", coding.notes->file.c_str(), 0);
        av_opt_set_int(c.priv_data, "fastfirstpass", 0, 0);  // the first pass is the film if it fits
        // With macroblock trees libx264 (0.164) gives other bytes from the second film of a process on. Stitchable: heads do not
        // follow the content, so that packets of several encoders can stand in one file.
        av_opt_set(c.priv_data, "x264-params", kX264Parameters, 0);
    }

    void set_vp9(const FilmSettings& film, const Coding& coding) {
        AVCodecContext& c = *codec;
        c.bit_rate = coding.bits_per_second;  // 0: as much as the quality asks for
        av_opt_set_int(c.priv_data, "crf", quality_of(film.target).vp9_crf, 0);
        av_opt_set(c.priv_data, "deadline", "good", 0);
        av_opt_set(c.priv_data, "cpu-used", kVp9Speed, 0);
        av_opt_set_int(c.priv_data, "row-mt", 0, 0);
        av_opt_set_int(c.priv_data, "tile-columns", 1, 0);
        if (coding.pass == 1) gather = coding.notes;
        if (coding.pass == 2) {
            c.stats_in = static_cast<char*>(av_mallocz(coding.notes->text.size() + 1));
            if (c.stats_in) std::memcpy(c.stats_in, coding.notes->text.data(), coding.notes->text.size());
        }
    }

    Result<void> open(const FilmSettings& film, const Coding& coding) {
        const AVCodec* named = avcodec_find_encoder_by_name(codec_name(film.format));
        codec.reset(named ? avcodec_alloc_context3(named) : nullptr);
        if (!codec || !parameters) return encoder_missing();
        AVCodecContext& c = *codec;
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
        if (coding.pass) c.flags |= coding.pass == 1 ? AV_CODEC_FLAG_PASS1 : AV_CODEC_FLAG_PASS2;
        film.format == FilmFormat::webm ? set_vp9(film, coding) : set_h264(film, coding);
        const int opened = avcodec_open2(codec.get(), named, nullptr);
        av_freep(&c.stats_in);  // read while opening
        if (opened < 0) return encoder_missing();
        avcodec_parameters_from_context(parameters, codec.get());
        return film.format == FilmFormat::webm ? Result<void>{} : open_strip();
    }

    Result<void> open_strip() {
        const AVBitStreamFilter* filter = av_bsf_get_by_name("filter_units");
        AVBSFContext* raw = nullptr;
        if (!filter || av_bsf_alloc(filter, &raw) < 0) return encoder_missing();
        strip.reset(raw);
        avcodec_parameters_copy(raw->par_in, parameters);
        raw->time_base_in = codec->time_base;
        av_opt_set(raw->priv_data, "remove_types", "6", 0);  // NAL type 6: SEI, where x264 writes its settings
        if (av_bsf_init(raw) < 0) return encoder_missing();
        avcodec_parameters_copy(parameters, raw->par_out);
        return {};
    }

    Result<void> give(const Take& take) {
        packet->duration = 1;
        auto taken = take(*packet);
        av_packet_unref(packet.get());
        return taken;
    }

    Result<void> drain_strip(const Take& take) {
        while (av_bsf_receive_packet(strip.get(), packet.get()) >= 0)
            if (auto done = give(take); !done) return done;
        return {};
    }

    Result<void> drain(const Take& take) {
        while (avcodec_receive_packet(codec.get(), packet.get()) >= 0) {
            if (strip && av_bsf_send_packet(strip.get(), packet.get()) < 0) return encoder_missing();
            if (auto done = strip ? drain_strip(take) : give(take); !done) return done;
        }
        return {};
    }
};

PictureEncoder::PictureEncoder(std::unique_ptr<State> state) : state_(std::move(state)) {}
PictureEncoder::PictureEncoder(PictureEncoder&&) noexcept = default;
PictureEncoder& PictureEncoder::operator=(PictureEncoder&&) noexcept = default;
PictureEncoder::~PictureEncoder() = default;

Result<PictureEncoder> PictureEncoder::open(const FilmSettings& film, const Coding& coding) {
    media::quiet_libav();
    auto state = std::make_unique<State>();
    if (auto done = state->open(film, coding); !done) return done.failure();
    return PictureEncoder(std::move(state));
}

Result<void> PictureEncoder::picture(FramePtr frame, const Take& take) {
    frame->pts = state_->pictures++;
    frame->pict_type = AV_PICTURE_TYPE_NONE;
    if (avcodec_send_frame(state_->codec.get(), frame.get()) < 0) return encoder_missing();
    return state_->drain(take);
}

Result<void> PictureEncoder::finish(const Take& take) {
    State& s = *state_;
    if (avcodec_send_frame(s.codec.get(), nullptr) < 0) return encoder_missing();
    if (auto done = s.drain(take); !done) return done;
    if (s.gather && s.codec->stats_out) s.gather->text = s.codec->stats_out;
    if (!s.strip) return {};
    av_bsf_send_packet(s.strip.get(), nullptr);
    return s.drain_strip(take);
}

const AVCodecParameters& PictureEncoder::parameters() const { return *state_->parameters; }

int PictureEncoder::delay() const { return state_->codec->has_b_frames; }

Result<media::PacketPtr> jpeg_of(const AVFrame& frame) {
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
    return packet;
}

Result<void> write_jpeg(const std::filesystem::path& file, const AVFrame& frame) {
    auto jpeg = jpeg_of(frame);
    return jpeg ? write_packet(file, **jpeg) : jpeg.failure();
}

Result<void> write_packet(const std::filesystem::path& file, const AVPacket& jpeg) {
    std::ofstream out(file, std::ios::binary);
    out.write(reinterpret_cast<const char*>(jpeg.data), jpeg.size);
    if (!out.flush()) return machine_trouble("A still cannot be written: check the disk's free space.");
    return {};
}

}  // namespace canalogue::film
