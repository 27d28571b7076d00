// An opened media file: demuxer, chosen video stream, its decoder. Internal to app/media.
#pragma once

#include <filesystem>

#include "app/media/facts.hpp"
#include "app/media/libav.hpp"

namespace canalogue::media {

struct OpenFile {
    FormatPtr format;
    CodecPtr decoder;
    int video = -1;  // stream index

    AVStream* stream() const { return format->streams[video]; }

    // Opens the file and the decoder of its best picture stream (cover art is not one).
    // threads: decoder threads, 0 = one per processor.
    static Result<OpenFile> open(const std::filesystem::path& path, int threads);
};

// The demuxer alone, with stream facts read.
Result<FormatPtr> open_format(const std::filesystem::path& path);

RecordingFacts facts_of(const OpenFile& file, const AVFrame& first);
Rotation rotation_of(const AVStream& stream);

}  // namespace canalogue::media
