// Twelve files as clinics' devices write them: the kinds that break naive seeking.
#pragma once

#include "tests/support/media_files.hpp"

namespace canalogue::test {

struct DeviceFile {
    std::string name;  // file name, tells the container
    std::string what;
    std::string args;  // for make_media
};

inline std::vector<DeviceFile> device_files() {
    const std::string moving = "-f lavfi -i testsrc2=size=320x240:rate=25:duration=6 ";
    const std::string tone = "-f lavfi -i sine=frequency=440:duration=6:sample_rate=48000 ";
    return {
        {"h264.mp4", "H.264 with B-frames and sound", moving + tone + "-c:v libx264 -preset fast -g 50 -bf 3 -c:a aac"},
        {"hevc.mp4", "HEVC with open groups", moving + "-c:v libx265 -preset ultrafast -x265-params log-level=none:keyint=40:open-gop=1 -tag:v hvc1"},
        {"mjpeg.avi", "MJPEG in AVI, full range", moving + "-c:v mjpeg -q:v 3 -pix_fmt yuvj422p"},
        {"asp.avi", "MPEG-4 in AVI with B-frames", moving + "-c:v mpeg4 -bf 2 -g 30 -q:v 4"},
        {"open.mkv", "H.264 open groups in Matroska, 4:2:2", moving + "-c:v libx264 -preset fast -g 40 -x264-params open-gop=1:bframes=3 -pix_fmt yuv422p"},
        {"stream.ts", "H.264 transport stream", moving + tone + "-c:v libx264 -preset fast -g 40 -bf 2 -c:a mp2"},
        {"vfr.mp4", "variable frame rate", moving + "-vf \"select='not(mod(n,3))+gt(mod(n,50),30)'\" -fps_mode vfr -c:v libx264 -preset fast -g 30 -bf 2"},
        {"turned.mov", "rotated phone film with a 10-bit HEVC picture", moving + "-c:v libx265 -preset ultrafast -pix_fmt yuv420p10le -x265-params log-level=none -tag:v hvc1"},
        {"cut.mp4", "an edit list hides the head", moving + "-c:v libx264 -preset fast -g 50 -bf 2"},
        {"odd.mkv", "odd size, lossless, no sound", "-f lavfi -i testsrc2=size=321x243:rate=30000/1001:duration=4 -c:v ffv1 -g 1 -pix_fmt yuv444p"},
        {"fields.ts", "interlaced MPEG-2, top field first", moving + "-vf \"tinterlace=interleave_top\" -c:v mpeg2video -flags +ilme+ildct -g 12 -bf 2 -q:v 4"},
        {"paff.mkv", "interlaced H.264", moving + "-vf \"tinterlace=interleave_top\" -c:v libx264 -preset fast -flags +ilme+ildct -g 25 -bf 2"},
    };
}

// Writes a display matrix by copying, the only way the ffmpeg program of Debian 12 has.
inline fs::path make_turned(const TempFolder& folder, const std::string& name, const std::string& args) {
    const fs::path flat = make_media(folder / ("flat-" + name), args);
    return make_media(folder / name, "-i '" + flat.string() + "' -c copy -metadata:s:v:0 rotate=90");
}

// `cut.mp4` is made by copying out of the middle, which leaves hidden frames behind an edit list.
inline fs::path make_device_file(const TempFolder& folder, const DeviceFile& file) {
    if (file.name == "turned.mov") return make_turned(folder, file.name, file.args);
    if (file.name != "cut.mp4") return make_media(folder / file.name, file.args);
    const fs::path whole = make_media(folder / "whole.mp4", file.args);
    return make_media(folder / file.name, "-ss 1.3 -i '" + whole.string() + "' -c copy");
}

}  // namespace canalogue::test
