// Writes one MP4 with H.264 and AAC. Used by one thread at a time.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <opencv2/core.hpp>
#include <span>
#include <string>

#include "app/core/result.hpp"

namespace canalogue::demo {

struct FilmForm {
    cv::Size size;
    int frames_per_second = 25;                // clock of the frame numbers; gaps are allowed
    std::map<std::string, std::string> about;  // container metadata
};

inline constexpr int kSoundRate = 48000;

// Planar 4:2:0 in BT.709, limited range, ready to encode. Made by any thread.
struct FilmFrame;
struct FilmFrameGone {
    void operator()(FilmFrame* frame) const;
};
using FilmFramePtr = std::unique_ptr<FilmFrame, FilmFrameGone>;
// Null when memory is out.
FilmFramePtr film_frame(const cv::Mat3b& bgr, int number);

class FilmWriter {
public:
    static Result<FilmWriter> open(const std::filesystem::path& file, const FilmForm& form);
    FilmWriter(FilmWriter&&) noexcept;
    FilmWriter& operator=(FilmWriter&&) noexcept;
    ~FilmWriter();  // closes the file as it is, without its index, if finish was not reached

    // Frames in rising number; sound in order, mono -1..1 at kSoundRate, any amount at a time. Keep
    // the two within a second of each other.
    Result<void> picture(const FilmFrame& frame);
    Result<void> sound(std::span<const float> samples);
    Result<void> finish();

private:
    struct Inside;
    explicit FilmWriter(std::unique_ptr<Inside> inside);
    std::unique_ptr<Inside> inside_;
};

}  // namespace canalogue::demo
