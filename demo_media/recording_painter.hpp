// One recording's finished pictures, each from its time alone, so that several threads can paint.
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>

#include "demo_media/burnt_in.hpp"
#include "demo_media/canal_view.hpp"
#include "demo_media/hairs.hpp"
#include "demo_media/lens.hpp"
#include "demo_media/room.hpp"
#include "demo_media/script.hpp"

namespace canalogue::demo {

// Read-only once made. script must outlive it.
class RecordingPainter {
public:
    RecordingPainter(const Script& script, std::uint64_t seed, cv::Size frame, std::int64_t starts_at);

    cv::Mat3b paint(int number, double t) const;  // as recorded
    cv::Mat3b paint_without_text(int number, double t) const;
    const BurntIn& text() const { return text_; }
    const Room& room() const { return room_; }

private:
    const Script& script_;
    CanalView canal_;
    Hairs hairs_;
    Lens lens_;
    Room room_;
    BurntIn text_;
};

}  // namespace canalogue::demo
