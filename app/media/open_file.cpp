#include "app/media/open_file.hpp"

#include <cmath>
#include <ctime>

extern "C" {
#include <libavutil/display.h>
#include <libavutil/parseutils.h>
}

namespace canalogue::media {

namespace {

// File names may identify a patient, so sentences never quote them.
Failure unusable(const std::string& why) {
    return bad_media("The file cannot be used as a recording: " + why +
                     ". Check that it was copied completely, or export it again from the device.");
}

std::optional<std::int64_t> creation_time(const AVFormatContext& format) {
    const AVDictionaryEntry* e = av_dict_get(format.metadata, "creation_time", nullptr, 0);
    std::int64_t us = 0;
    if (!e || av_parse_time(&us, e->value, 0) < 0 || us <= 0) return std::nullopt;
    return us / 1'000'000;
}

}  // namespace

Result<FormatPtr> open_format(const std::filesystem::path& path) {
    quiet_libav();
    std::error_code ec;
    if (!std::filesystem::is_regular_file(path, ec))
        return bad_media("The recording is not there or is not a file; name the media file itself.");
    if (std::filesystem::file_size(path, ec) == 0) return unusable("it is empty");
    AVFormatContext* raw = nullptr;
    // The protocol prefix keeps a file name with a colon from being taken for a network address.
    const int opened = avformat_open_input(&raw, ("file:" + path.string()).c_str(), nullptr, nullptr);
    if (opened == AVERROR(EACCES))
        return machine_trouble("The recording may not be read; ask for permission to read it.");
    if (opened < 0) return unusable(libav_words(opened));
    FormatPtr format(raw);
    if (const int found = avformat_find_stream_info(raw, nullptr); found < 0)
        return unusable(libav_words(found));
    return format;
}

Result<OpenFile> OpenFile::open(const std::filesystem::path& path, int threads) {
    auto format = open_format(path);
    if (!format) return format.failure();
    OpenFile file;
    file.format = std::move(*format);
    const AVCodec* codec = nullptr;
    file.video = av_find_best_stream(file.format.get(), AVMEDIA_TYPE_VIDEO, -1, -1, &codec, 0);
    if (file.video < 0 || !codec ||
        (file.stream()->disposition & AV_DISPOSITION_ATTACHED_PIC))
        return unusable("it holds no moving picture");
    file.decoder.reset(avcodec_alloc_context3(codec));
    if (!file.decoder || avcodec_parameters_to_context(file.decoder.get(), file.stream()->codecpar) < 0)
        return machine_trouble("There is not enough memory to open the recording; close other programs.");
    file.decoder->pkt_timebase = file.stream()->time_base;
    file.decoder->thread_count = threads;
    if (const int opened = avcodec_open2(file.decoder.get(), codec, nullptr); opened < 0)
        return unusable(libav_words(opened));
    for (unsigned i = 0; i < file.format->nb_streams; ++i)
        if (static_cast<int>(i) != file.video) file.format->streams[i]->discard = AVDISCARD_ALL;
    return file;
}

Rotation rotation_of(const AVStream& stream) {
    const auto* matrix = reinterpret_cast<const std::int32_t*>(
        av_stream_get_side_data(&stream, AV_PKT_DATA_DISPLAYMATRIX, nullptr));
    if (!matrix) return Rotation::none;
    // av_display_rotation_get gives the anticlockwise angle in degrees.
    const double anticlockwise = av_display_rotation_get(matrix);
    if (std::isnan(anticlockwise)) return Rotation::none;
    const int turns = (static_cast<int>(std::lround(-anticlockwise / 90.0)) % 4 + 4) % 4;
    return static_cast<Rotation>(turns * 90);
}

RecordingFacts facts_of(const OpenFile& file, const AVFrame& first) {
    const AVStream& stream = *file.stream();
    RecordingFacts f;
    f.container = file.format->iformat->name;
    if (auto comma = f.container.find(','); comma != std::string::npos) f.container.resize(comma);
    f.codec = avcodec_get_name(stream.codecpar->codec_id);
    if (const char* name = av_get_pix_fmt_name(static_cast<AVPixelFormat>(first.format))) f.pixel_format = name;
    f.stored = {first.width, first.height};
    f.rotation = rotation_of(stream);
    if (const AVRational sar = first.sample_aspect_ratio; sar.num > 0 && sar.den > 0)
        f.pixel_aspect = av_q2d(sar);
    const AVRational rate = av_guess_frame_rate(file.format.get(), file.stream(), nullptr);
    f.frames_per_second = rate.num > 0 && rate.den > 0 ? av_q2d(rate) : 25.0;
    if (file.format->duration > 0) f.duration = file.format->duration * 1000;
    if (stream.duration > 0 && stream.duration != AV_NOPTS_VALUE)
        f.duration = nanos_from_ticks(stream.duration, stream.time_base);
    f.interlaced = first.interlaced_frame != 0;
    const int sound = av_find_best_stream(file.format.get(), AVMEDIA_TYPE_AUDIO, -1, file.video, nullptr, 0);
    if (sound >= 0) {
        const AVCodecParameters& p = *file.format->streams[sound]->codecpar;
        f.sound = SoundFacts{p.sample_rate, p.ch_layout.nb_channels};
    }
    f.made_at = creation_time(*file.format);
    return f;
}

}  // namespace canalogue::media
