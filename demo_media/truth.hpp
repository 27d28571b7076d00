// The truth file: what is in the recordings, when and where. Its form is told in README.md.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"
#include "demo_media/recording_painter.hpp"
#include "demo_media/sound_track.hpp"

namespace canalogue::demo {

struct RecordingFacts {
    std::string file;
    int frames_per_second = 25;
    int frames = 0;            // written ones
    std::vector<int> dropped;  // numbers of frames left out
    std::map<std::string, std::string> about;
};

nlohmann::ordered_json truth_of(const Script& script, const RecordingFacts& facts,
                                const RecordingPainter& painter, const std::vector<SpokenSpan>& spoken);

}  // namespace canalogue::demo
