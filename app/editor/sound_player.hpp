// Sound while the film plays: at its own pitch whatever the pace (Rubber Band), out through PortAudio.
// What was heard last is the clock that the picture follows. Without a sound device it says so and the
// picture follows the wall clock. All functions are for the window's thread.
#pragma once

#include <atomic>
#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "app/core/session.hpp"

namespace canalogue::editor {

class SoundPlayer {
  public:
    SoundPlayer();
    ~SoundPlayer();

    // Plays `recording` from `from`; `hushed` spans are silent. pace: 0.25 .. 4. Replaces what played.
    void play(const Recording& recording, RecordingTime from, double pace, std::vector<RecordingSpan> hushed);
    void stop();

    // Plays made sound: `samples` gives interleaved stereo at 48 kHz from a frame number on, at most so many
    // frames; nothing at the end. Called on the player's own thread until `stop` or the next `play`.
    using Made = std::function<std::vector<float>(std::int64_t from, std::int64_t count)>;
    void play_made(Made samples, std::int64_t from);

    // What is being heard now; nullopt when nothing plays, nothing has come out yet, or there is no device.
    std::optional<RecordingTime> now() const;

    // True when `play` leads to sound: a device is there and works.
    bool device() const { return device_; }

    // Loudness of what is heard, 0..1, for the meter.
    float level() const;

  private:
    struct Stream;
    std::unique_ptr<Stream> stream_;
    bool device_ = false;
};

}  // namespace canalogue::editor
