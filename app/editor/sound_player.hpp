// Sound while the film plays: at its own pitch whatever the pace (Rubber Band), out through PortAudio.
// What is heard right now is the clock that the picture follows. Without a sound device it says so and the
// picture follows the wall clock. All functions are for the window's thread.
#pragma once

#include <functional>
#include <memory>
#include <optional>
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

    // What the ear hears in `ahead` seconds, the device's delay allowed for (of made sound: its own time). nullopt
    // when nothing plays, nothing has come out yet, or the device takes nothing any more.
    std::optional<RecordingTime> heard(double ahead) const;

    // Seconds until a picture that waits for the first sound goes on without it.
    static constexpr double kPatience = 0.8;

    // True when `play` leads to sound: a device is there and works.
    bool device() const { return stream_ != nullptr; }

    // How loud it is played: 0 (silent) .. 1, as a hand sets it: the amplitude is its square, which an ear takes
    // for even steps.
    void set_volume(double volume);

  private:
    struct Stream;
    std::unique_ptr<Stream> stream_;
};

}  // namespace canalogue::editor
