#include "app/media/sound_reader.hpp"

#include <algorithm>
#include <cmath>

#include "app/media/open_file.hpp"

namespace canalogue::media {

namespace {

// Sound before the span that codecs with overlapping blocks need to start cleanly, and that the
// resampler's filter reaches into.
constexpr Nanos kRunUp = kSecond / 4;

struct SoundFile {
    FormatPtr format;
    CodecPtr decoder;
    int stream = -1;

    static Result<std::optional<SoundFile>> open(const std::filesystem::path& path) {
        auto format = open_format(path);
        if (!format) return format.failure();
        SoundFile file;
        file.format = std::move(*format);
        const AVCodec* codec = nullptr;
        file.stream = av_find_best_stream(file.format.get(), AVMEDIA_TYPE_AUDIO, -1, -1, &codec, 0);
        if (file.stream < 0 || !codec) return std::optional<SoundFile>{};
        const AVStream& s = *file.format->streams[file.stream];
        file.decoder.reset(avcodec_alloc_context3(codec));
        if (!file.decoder || avcodec_parameters_to_context(file.decoder.get(), s.codecpar) < 0 ||
            avcodec_open2(file.decoder.get(), codec, nullptr) < 0)
            return bad_media("The recording's sound cannot be decoded; export it again from the device.");
        file.decoder->pkt_timebase = s.time_base;
        for (unsigned i = 0; i < file.format->nb_streams; ++i)
            if (static_cast<int>(i) != file.stream) file.format->streams[i]->discard = AVDISCARD_ALL;
        return std::optional<SoundFile>(std::move(file));
    }
};

// Stereo floats at the file's own rate, laid out in recording time.
class Tape {
  public:
    Tape(RecordingSpan span, int rate) : start_(span.start), rate_(rate) {
        samples_.resize(static_cast<std::size_t>(frames(span.length())) * 2);
    }

    std::int64_t frames(Nanos t) const { return av_rescale(t, rate_, kSecond); }

    // Copies a decoded block that begins at t; what lies outside the tape is dropped.
    void lay(RecordingTime t, const float* stereo, int count) {
        const std::int64_t at = frames(t - start_), length = static_cast<std::int64_t>(samples_.size() / 2);
        for (std::int64_t i = std::max<std::int64_t>(0, -at); i < count && at + i < length; ++i) {
            samples_[static_cast<std::size_t>(at + i) * 2] = stereo[i * 2];
            samples_[static_cast<std::size_t>(at + i) * 2 + 1] = stereo[i * 2 + 1];
        }
    }

    void hush(RecordingSpan span) {
        const std::int64_t length = static_cast<std::int64_t>(samples_.size() / 2);
        const auto from = std::clamp<std::int64_t>(frames(span.start - start_), 0, length);
        const auto until = std::clamp<std::int64_t>(frames(span.end - start_) + 1, 0, length);
        std::fill(samples_.begin() + from * 2, samples_.begin() + std::max(from, until) * 2, 0.0f);
    }

    const Samples& samples() const { return samples_; }

  private:
    RecordingTime start_;
    int rate_;
    Samples samples_;
};

SwrPtr to_stereo(const AVCodecContext& decoder, int rate_out, AVChannelLayout in, AVSampleFormat format) {
    AVChannelLayout stereo = AV_CHANNEL_LAYOUT_STEREO;
    SwrContext* raw = nullptr;
    if (swr_alloc_set_opts2(&raw, &stereo, AV_SAMPLE_FMT_FLT, rate_out, &in, format, decoder.sample_rate, 0,
                            nullptr) < 0)
        return nullptr;
    SwrPtr swr(raw);
    if (swr_init(swr.get()) < 0) return nullptr;
    return swr;
}

// Decodes from before `span` to after it onto the tape.
Result<void> record(SoundFile& file, Nanos zero, RecordingSpan span, Tape& tape, const Progress& progress) {
    const AVStream& stream = *file.format->streams[file.stream];
    const std::int64_t from = ticks_from_nanos(span.start.ns + zero - kRunUp, stream.time_base);
    if (av_seek_frame(file.format.get(), file.stream, from, AVSEEK_FLAG_BACKWARD) < 0)
        av_seek_frame(file.format.get(), file.stream, from, AVSEEK_FLAG_ANY);
    avcodec_flush_buffers(file.decoder.get());  // nothing of an earlier stretch
    SwrPtr swr;
    PacketPtr packet(av_packet_alloc());
    FramePtr frame(av_frame_alloc());
    std::vector<float> stereo;
    for (bool feeding = true; feeding;) {
        if (progress.stopped()) return cancelled();
        feeding = av_read_frame(file.format.get(), packet.get()) >= 0;
        if (feeding && packet->stream_index != file.stream) {
            av_packet_unref(packet.get());
            continue;
        }
        avcodec_send_packet(file.decoder.get(), feeding ? packet.get() : nullptr);
        av_packet_unref(packet.get());
        while (avcodec_receive_frame(file.decoder.get(), frame.get()) >= 0) {
            if (!swr) {
                AVChannelLayout layout = frame->ch_layout;
                if (layout.order == AV_CHANNEL_ORDER_UNSPEC) av_channel_layout_default(&layout, layout.nb_channels);
                swr = to_stereo(*file.decoder, file.decoder->sample_rate, layout,
                                static_cast<AVSampleFormat>(frame->format));
                if (!swr) return bad_media("The recording's sound has a form that cannot be used.");
            }
            stereo.resize(static_cast<std::size_t>(frame->nb_samples) * 2);
            auto* out = reinterpret_cast<std::uint8_t*>(stereo.data());
            const int got = swr_convert(swr.get(), &out, frame->nb_samples,
                                        const_cast<const std::uint8_t**>(frame->extended_data), frame->nb_samples);
            const RecordingTime at{nanos_from_ticks(frame->best_effort_timestamp, stream.time_base) - zero};
            if (got > 0) tape.lay(at, stereo.data(), got);
            av_frame_unref(frame.get());
            if (at > span.end) feeding = false;
        }
    }
    return {};
}

}  // namespace

struct SoundReader::State {
    std::optional<SoundFile> file;  // none: the recording has no sound
    Nanos zero = 0;
};

SoundReader::SoundReader(std::unique_ptr<State> state) : state_(std::move(state)) {}
SoundReader::SoundReader(SoundReader&&) noexcept = default;
SoundReader& SoundReader::operator=(SoundReader&&) noexcept = default;
SoundReader::~SoundReader() = default;

Result<SoundReader> SoundReader::open(const std::filesystem::path& path, Nanos zero) {
    auto file = SoundFile::open(path);
    if (!file) return file.failure();
    auto state = std::make_unique<State>();
    state->file = std::move(*file);
    state->zero = zero;
    return SoundReader(std::move(state));
}

Result<Samples> SoundReader::read(RecordingSpan span, const std::vector<RecordingSpan>& hushed, const Progress& progress) {
    const auto wanted = static_cast<std::size_t>(av_rescale(span.length(), kSoundRate, kSecond));
    Samples out(wanted * kSoundChannels, 0.0f);
    if (!state_->file || span.empty()) return out;
    SoundFile& sound = *state_->file;

    const RecordingSpan padded{span.start - kRunUp, span.end + kRunUp};
    Tape tape(padded, sound.decoder->sample_rate);
    if (auto done = record(sound, state_->zero, padded, tape, progress); !done) return done.failure();
    for (const auto& h : hushed) tape.hush(h);

    AVChannelLayout stereo = AV_CHANNEL_LAYOUT_STEREO;
    SwrPtr swr = to_stereo(*sound.decoder, kSoundRate, stereo, AV_SAMPLE_FMT_FLT);
    if (!swr) return bad_media("The recording's sound has a form that cannot be used.");
    Samples resampled(static_cast<std::size_t>(av_rescale(padded.length(), kSoundRate, kSecond) + 4096) * 2);
    auto* to = reinterpret_cast<std::uint8_t*>(resampled.data());
    const auto* from = reinterpret_cast<const std::uint8_t*>(tape.samples().data());
    const int room = static_cast<int>(resampled.size() / 2);
    int got = swr_convert(swr.get(), &to, room, &from, static_cast<int>(tape.samples().size() / 2));
    if (got < 0) return machine_trouble("The recording's sound could not be resampled.");
    auto* rest = reinterpret_cast<std::uint8_t*>(resampled.data() + got * 2);
    got += std::max(0, swr_convert(swr.get(), &rest, room - got, nullptr, 0));

    const auto skip = static_cast<std::size_t>(av_rescale(kRunUp, kSoundRate, kSecond));
    for (std::size_t i = 0; i < wanted && skip + i < static_cast<std::size_t>(got); ++i) {
        out[i * 2] = resampled[(skip + i) * 2];
        out[i * 2 + 1] = resampled[(skip + i) * 2 + 1];
    }
    return out;
}

// By its packets: headers of recorded files often do not know.
Result<Nanos> sound_length(const std::filesystem::path& path) {
    auto file = SoundFile::open(path);
    if (!file) return file.failure();
    if (!*file) return bad_media("The file has no sound that can be read; name a sound file.");
    AVFormatContext* format = (*file)->format.get();
    const AVStream& stream = *format->streams[(*file)->stream];
    Nanos end = 0;
    PacketPtr packet(av_packet_alloc());
    while (av_read_frame(format, packet.get()) >= 0) {
        if (packet->stream_index == (*file)->stream && packet->pts != AV_NOPTS_VALUE)
            end = std::max(end, nanos_from_ticks(packet->pts + packet->duration, stream.time_base));
        av_packet_unref(packet.get());
    }
    if (end <= 0) return bad_media("The file's sound is empty; record it again.");
    return end;
}

Result<Samples> read_sound(const std::filesystem::path& path, Nanos zero, RecordingSpan span,
                           const std::vector<RecordingSpan>& hushed, const Progress& progress) {
    auto reader = SoundReader::open(path, zero);
    if (!reader) return reader.failure();
    return reader->read(span, hushed, progress);
}

std::vector<float> as_mono(const Samples& samples, std::size_t first, std::size_t frames) {
    constexpr float kBothSides = .70710678f;
    std::vector<float> out(frames);
    for (std::size_t i = 0; i < frames; ++i) out[i] = kBothSides * (samples[2 * (first + i)] + samples[2 * (first + i) + 1]);
    return out;
}

}  // namespace canalogue::media
