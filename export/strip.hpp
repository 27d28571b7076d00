// The strip: the event timeline drawn into the film. A row of words (side, what was last tagged, session clock) over
// one lane for each ear. The passage that is shown takes most of its lane, in the time of its recording: marks where
// they happened, ticks of the clock, holds, the playhead, which stands while the picture stands. The other passages
// stand before and after it in the film's order, one step each, whatever their length: so a frame shows nothing that
// depends on when other passages come, how long they are or what was tagged in them, and an encoded passage can be
// used again when they change.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "app/core/session.hpp"
#include "app/core/vocabulary.hpp"
#include "export/canvas.hpp"
#include "export/schedule.hpp"

namespace canalogue::film {

struct StripInput {
    const Plan& plan;
    const Schedule& schedule;
    const std::vector<Event>& events;
    const Vocabulary& vocabulary;
    Size film;
};

// An event as the strip shows it in a passage.
struct StripEvent {
    const EventKind* kind = nullptr;
    RecordingTime at;  // within the passage
    long frame = 0;    // of the film, where it is first shown
};

// Of each item of the plan, in order of the film. Points into the vocabulary.
std::vector<std::vector<StripEvent>> strip_events(const StripInput& input);

class Strip {
  public:
    explicit Strip(const StripInput& input);

    int height() const { return size_.h; }
    // What the frame shows: an item of the plan, and in a passage the side, the recording's and the session's instant.
    struct Shown {
        std::size_t item = 0;
        std::optional<Ear> ear;
        std::optional<RecordingTime> at;
        std::optional<SessionTime> session;
    };
    // Lays the strip at the bottom of a frame of the film.
    void lay_on(AVFrame& frame, long number, const Shown& shown);

    // What is drawn is measured for a film whose shorter side has 720 pixels.
    static double scale_of(Size film) { return std::min(film.w, film.h) / 720.0; }
    static int height_for(Size film) { return static_cast<int>(96 * scale_of(film)) & ~1; }

  private:
    struct Mark {
        double x;
        const EventKind* kind;
        int count;
    };
    struct Lane {
        double top, height;
    };
    struct Part {  // from left to right
        double left, right;
    };
    double x_of(const Part& part, const Passage& passage, RecordingTime t) const;
    Lane lane_of(Ear ear) const;
    std::vector<Part> steps(std::size_t item) const;  // of each passage
    std::vector<Mark> marks_of(std::size_t item, const Part& part) const;
    Overlay drawn(std::size_t item) const;
    void draw_lanes(Canvas& canvas) const;
    void draw_passage(Canvas& canvas, std::size_t item, const Part& part) const;
    void lay_words(AVFrame& frame, long number, const Shown& shown);
    const Overlay& words(const std::string& text, bool bold, Rgb colour, int width = 0);

    const Plan& plan_;
    int frames_per_second_;
    Size size_;
    double scale_ = 1;
    std::vector<std::size_t> passages_;  // items that are passages
    bool two_lanes_ = false;
    std::vector<std::vector<StripEvent>> events_;
    Overlay playhead_;
    OverlayCache<std::size_t> bases_{2};
    OverlayCache<std::string> words_{24};
};

}  // namespace canalogue::film
