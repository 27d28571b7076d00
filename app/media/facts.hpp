// What a file says about itself: read by opening it and decoding its first picture, in milliseconds.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"
#include "app/core/time.hpp"

namespace canalogue::media {

struct SoundFacts {
    int rate = 0;
    int channels = 0;
};

struct RecordingFacts {
    std::string container;  // short name: "mp4", "avi", "matroska", "mpegts"
    std::string codec;      // "h264"
    std::string pixel_format;
    Size stored;            // as decoded
    Rotation rotation = Rotation::none;
    double pixel_aspect = 1.0;  // width of a stored pixel over its height
    double frames_per_second = 0;  // nominal; frames are found by time, never by this
    Nanos zero = 0;         // the container's own time of the first presented frame
    Nanos duration = 0;     // declared by the container; the index knows the truth
    bool interlaced = false;
    bool still = false;     // a single picture without time
    std::optional<SoundFacts> sound;
    std::optional<std::int64_t> made_at;  // creation time, seconds since 1970, when the container has one

    Size upright() const { return upright_size(stored, rotation); }
};

// A named piece of text that the file carries: "container: title" -> value. May identify a person.
struct FileField {
    std::string name, value;
};

}  // namespace canalogue::media
