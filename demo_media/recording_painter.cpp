#include "demo_media/recording_painter.hpp"

#include <cmath>

namespace canalogue::demo {

namespace {

// The working picture is smaller than the finished one: scopes have small sensors and enlarge.
int working_side(cv::Size frame) {
    return std::max(64, int(std::lround(frame.height * kRoundPart / 1.8)) & ~1);
}

}  // namespace

RecordingPainter::RecordingPainter(const Script& script, std::uint64_t seed, cv::Size frame,
                                   std::int64_t starts_at)
    : script_(script),
      canal_(script, seed, working_side(frame)),
      hairs_(canal_.shape(), seed),
      lens_(seed, working_side(frame), frame),
      room_(seed, script.ear, working_side(frame), frame),
      text_(frame, script.ear, starts_at) {}

cv::Mat3b RecordingPainter::paint_without_text(int number, double t) const {
    const Moment m = moment_at(script_, t);
    cv::Mat3f picture;
    if (m.room < 1) {
        const Seen seen = canal_.draw(m);
        picture = lens_.expose(seen, hairs_.draw(canal_.eye(m), seen.distance));
    }
    if (m.room > 0) {
        const cv::Mat3f room = room_.picture(m);
        if (picture.empty())
            picture = room;
        else
            cv::addWeighted(picture, 1 - double(m.room), room, m.room, 0, picture);
    }
    lens_.smear(picture, m.veil, m.tissue);
    return lens_.finish(picture, number);
}

cv::Mat3b RecordingPainter::paint(int number, double t) const {
    cv::Mat3b frame = paint_without_text(number, t);
    text_.write(frame, t);
    return frame;
}

}  // namespace canalogue::demo
