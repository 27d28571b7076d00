// Finished frames of a labelled session with their labels.
#pragma once

#include <memory>
#include <opencv2/core.hpp>
#include <vector>

#include "demo_media/labelled/inside_view.hpp"
#include "demo_media/labelled/labels.hpp"
#include "demo_media/labelled/outside_view.hpp"
#include "demo_media/labelled/text_layer.hpp"

namespace canalogue::demo::labelled {

struct MadeFrame {
    cv::Mat3b picture;  // blue, green, red; upright; empty when only labels are asked for
    cv::Mat1b labels;
    std::vector<Place> text;   // thing: number in recipe.text
    int outing = -1;           // shown in this frame, -1 none
    std::vector<Place> seen;   // thing: number in the outing's canvas
};

// Read-only once made; make may be called from several threads. recipe must outlive it.
class FrameMaker {
public:
    FrameMaker(const Recipe& recipe, bool pictures);
    MadeFrame make(int number) const;
    const OutsideView& outside() const { return outside_; }

private:
    MadeFrame instant(double t, int number) const;
    cv::Mat3b inside(double t) const;
    void put_together(cv::Mat3b& picture, const cv::Mat1b& mask, int number) const;
    cv::Mat1b scope_mask() const;
    cv::Mat make_noise() const;

    const Recipe& recipe_;
    OutsideView outside_;
    TextLayer text_;
    std::unique_ptr<InsideView> inside_;  // null without pictures
    cv::Mat1b scope_;                     // 255 the scope's picture .. 0 its surround
    cv::Mat inside_tone_, outside_tone_;  // 1x256, three bytes each
    cv::Mat noise_;                       // signed bytes, three each, larger than a frame
};

}  // namespace canalogue::demo::labelled
