// Writes one file of pictures and, for a recording, sound and what it says about itself, in the containers
// and encodings that labelled sessions come in. Used by one thread at a time.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <opencv2/core.hpp>
#include <span>
#include <string>

#include "app/core/result.hpp"

namespace canalogue::demo::labelled {

struct FileForm {
    std::string container;  // mkv, mp4, mov, avi
    std::string video, sound;  // encoders; ffv1 takes grey pictures; empty sound: none
    cv::Size size;          // upright
    int ticks = 25;         // per second, of the pictures' times
    int rate = 25;          // frames per second, nominal
    bool interlaced = false, turned = false;
    double seconds = 0;     // for the chapter
    std::map<std::string, std::string> metadata;
    std::string handler, chapter, attachment;
};

class MediaFile {
public:
    static Result<MediaFile> open(const std::filesystem::path& path, const FileForm& form);
    MediaFile(MediaFile&&) noexcept;
    MediaFile& operator=(MediaFile&&) noexcept;
    ~MediaFile();

    // Upright, 3 bytes a pixel (blue, green, red) or, for ffv1, one; ticks rising.
    Result<void> picture(const cv::Mat& upright, std::int64_t tick);
    Result<void> sound(std::span<const float> samples);  // mono, kSoundRate; keep near the pictures' time
    Result<void> finish();

private:
    struct Inside;
    explicit MediaFile(std::unique_ptr<Inside> inside);
    std::unique_ptr<Inside> inside_;
};

}  // namespace canalogue::demo::labelled
