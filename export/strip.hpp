// The strip: the event timeline drawn into the film. A row of words (side, what was last tagged,
// session clock) over one lane for each ear, with passages, marks and the playhead.
#pragma once

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

class Strip {
  public:
    explicit Strip(const StripInput& input);

    int height() const { return size_.h; }
    // What the frame shows: an item of the plan, and in a passage the side and the session's instant.
    struct Shown {
        std::size_t item = 0;
        std::optional<Ear> ear;
        std::optional<SessionTime> session;
    };
    // Lays the strip at the bottom of the frame.
    void lay_on(AVFrame& frame, FilmTime now, const Shown& shown);

    // Heights of strip and text follow the film's: 96 pixels at 720 lines.
    static int height_for(Size film) { return film.h * 96 / 720 & ~1; }

  private:
    struct Mark {
        double x;
        int lane;
        const EventKind* kind;
        int count;
        FilmTime at;
        std::string words;
    };
    double x_of(FilmTime t) const;
    int lane_of(Ear ear) const;
    void gather_marks(const StripInput& in);
    void draw_base(const StripInput& in);
    const Overlay& words(const std::string& text, double size, bool bold, Rgb colour);

    Size size_;
    double scale_ = 1;
    Nanos length_ = 1;
    bool two_lanes_ = false;
    std::vector<Mark> marks_;                         // clustered, drawn
    struct Said {
        FilmTime at;
        std::size_t item;  // the words go when its item does
        std::string name;
    };
    std::vector<Said> said_;  // every event's name, by film time
    Overlay base_, playhead_;
    OverlayCache<std::string> words_{24};
};

}  // namespace canalogue::film
