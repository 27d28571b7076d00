// What a stranger's reader finds in a recording: read with libav, not with the code under test.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

struct OpenedFilm {
    double seconds = 0;
    std::string video_codec, sound_codec;
    int width = 0, height = 0, sound_rate = 0, channels = 0;
    bool bt709_limited = false;
    std::map<std::string, std::string> about;
    std::vector<double> frame_times;  // decoded frames, seconds, in order
    double sound_seconds = 0;         // decoded
};

OpenedFilm opened(const std::filesystem::path& file);
std::string bytes_of(const std::filesystem::path& file);

// A folder of its own that is removed at the end.
struct ScratchFolder {
    ScratchFolder();
    ~ScratchFolder();
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;
    std::filesystem::path path;
};
