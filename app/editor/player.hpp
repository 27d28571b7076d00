// Where the film stands and how it moves: session time, pace, loops, steps. Follows the sound's clock
// where sound is heard, else the wall clock. Window's thread.
#pragma once

#include <optional>
#include <vector>

#include "app/core/cover.hpp"
#include "app/editor/frame_server.hpp"
#include "app/editor/sound_player.hpp"

namespace canalogue::editor {

struct Showing {
    const Recording* recording = nullptr;
    std::size_t frame = 0;  // its number in the recording
    RecordingTime time;     // when it is first shown
    RecordingTime until;
};

class Player {
  public:
    struct Source {
        Recording recording;
        std::shared_ptr<const media::FrameIndex> index;  // null while it is being read
        std::vector<RecordingSpan> hushed;               // silent while the public look is on
    };

    // The session's recordings, in order. Keeps the place.
    void use(std::vector<Source> sources);

    SessionTime at() const { return at_; }
    SessionSpan whole() const;
    bool playing() const { return playing_; }
    double pace() const { return pace_; }
    bool public_look() const { return public_look_; }
    std::optional<SessionSpan> loop() const { return loop_; }

    void go(SessionTime t);          // exact; stops nothing
    void step(int frames);           // stops playing; crosses from recording to recording
    void play(bool yes);
    void set_pace(double pace);      // 0.25 .. 4
    void set_loop(std::optional<SessionSpan> span);
    void set_public_look(bool yes);  // covers laid, sound hushed under them

    // Moves on; call once a frame with the wall clock in seconds. `ahead`: in how many seconds the picture will be
    // on the screen; it is chosen for what is heard then. The frame to be shown.
    std::optional<Showing> tick(double now, double ahead = 0);
    std::optional<Showing> showing() const;
    // In how many seconds after the last tick another picture is to be chosen; 0 when nothing plays.
    double until_next() const;

    // The frame for the picture: exactly what is showing, or nullopt while it is being decoded.
    std::optional<media::Picture> picture();
    bool decoding() const { return server_.busy(); }
    std::string trouble() const { return server_.trouble(); }
    // For the preview of a film, while this does not play.
    SoundPlayer& sound() { return sound_; }

  private:
    const Source* source_at(SessionTime t) const;
    void start_sound();
    void advance(double passed, double ahead);
    SessionTime by_clock(double passed, double ahead);
    SessionTime no_frame_missed(SessionTime next, double passed);
    void moved();

    std::vector<Source> sources_;
    SessionTime at_{0};
    bool playing_ = false, public_look_ = false;
    double pace_ = 1;
    int direction_ = 0;
    std::optional<SessionSpan> loop_;
    double last_tick_ = 0, silent_for_ = 0, behind_for_ = 0;
    Nanos owed_ = 0, made_up_ = 0;  // what slow pictures cost and is still to be made up for; how much of it in this tick
    std::string sounding_;  // the recording whose sound plays
    FrameServer server_;
    SoundPlayer sound_;
};

}  // namespace canalogue::editor
