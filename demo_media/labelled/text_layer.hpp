// Burnt-in text: drawn once, then laid on each frame at its place, with its label.
#pragma once

#include <map>
#include <opencv2/core.hpp>
#include <vector>

#include "demo_media/labelled/labels.hpp"
#include "demo_media/labelled/recipe.hpp"

namespace canalogue::demo::labelled {

// Read-only once made; draw may be called from several threads. recipe must outlive it.
class TextLayer {
public:
    explicit TextLayer(const Recipe& recipe);
    // Writes into frame (skipped when empty) and labels (of the recording's upright size). Tells where each
    // item's labelled pixels are; thing is the number in recipe.text.
    std::vector<Place> draw(cv::Mat3b& frame, cv::Mat1b& labels, double t) const;

private:
    struct Stamp {
        cv::Mat3b colour;
        cv::Mat1b alpha;  // how much of the colour
        cv::Mat1b ink;    // how much of it is glyph, outline or shadow
    };
    struct Line {
        std::vector<Stamp> stamps;  // one; for the clock one a second
        cv::Rect home;              // of the largest stamp
        cv::Point2d away;           // where a slide comes from, pixels from home
    };
    Stamp stamp_of(const TextItem& item, const std::string& words) const;
    Line line_of(const TextItem& item) const;
    void place(const TextItem& item, Line& line, std::vector<cv::Rect>& taken) const;
    cv::Point origin(const TextItem& item, const Line& line, const Stamp& stamp, double t) const;

    const Recipe& recipe_;
    std::vector<Line> lines_;
};

}  // namespace canalogue::demo::labelled
