// Gathers what each frame showed and writes truth.json (README.md documents it).
#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <vector>

#include "demo_media/labelled/frame_maker.hpp"
#include "demo_media/labelled/recipe.hpp"
#include "demo_media/labelled/sound.hpp"

namespace canalogue::demo::labelled {

class TruthBook {
public:
    explicit TruthBook(const Recipe& recipe) : recipe_(recipe), text_(recipe.text.size()) {}
    // Each frame once, in order.
    void add(const MadeFrame& frame, int number);
    nlohmann::ordered_json written(const OutsideView& outside, const Sound& sound, const std::string& file) const;

private:
    struct Box {
        double t = 0;
        cv::Rect box;
    };
    struct Track {  // of one stretch in which something shows
        double start = 0, end = 0;
        std::vector<Box> boxes;  // each holds until the next
    };
    using Tracks = std::vector<Track>;
    void follow(Tracks& tracks, const cv::Rect& box, double t, double until, double last, double step);
    nlohmann::ordered_json tracks(const Tracks& tracks, const nlohmann::ordered_json& head) const;

    const Recipe& recipe_;
    std::vector<Tracks> text_;
    std::map<std::pair<int, int>, Tracks> seen_;  // by outing and thing
};

}  // namespace canalogue::demo::labelled
