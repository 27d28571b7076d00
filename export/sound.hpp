// The film's sound, made in short stretches so that an hour needs no more memory than a minute:
// narration, and the original sound (hushed under covers, lowered under speech) where a plan lets it through at pace 1.
#pragma once

#include <map>

#include "app/core/progress.hpp"
#include "export/loudness.hpp"
#include "export/narration.hpp"
#include "export/picture_source.hpp"
#include "export/schedule.hpp"

namespace canalogue::film {

class Sound {
  public:
    // The narration is parallel to schedule.lines. All must outlive the object.
    Sound(const Plan& plan, const Schedule& schedule, const Narration& narration, const std::vector<SourceRecording>& sources);

    bool silent() const;  // neither narration nor original sound
    std::int64_t frames() const { return frames_; }

    // Finds the gain that brings the film to plan.film.loudness under the peak ceiling. Call once.
    Result<void> level(const Progress& progress);

    // Begins again, for another pass over the film; only after level().
    void rewind();

    // Frames [at, at + count) of the finished sound, in order from 0.
    Result<media::Samples> next(std::int64_t count);

  private:
    // Samples [begin, end) of the film are the recording's from `from` on.
    struct Heard {
        std::int64_t begin, end;
        std::string recording;
        RecordingTime from;
    };
    std::vector<Heard> heard() const;
    float ducked(std::int64_t at) const;
    Result<media::Samples> mixed(std::int64_t at, std::int64_t count) const;
    void add_line(media::Samples& out, std::int64_t at, std::size_t line) const;
    Result<void> add_original(media::Samples& out, std::int64_t at) const;
    Result<Loudness> measured(double gain, const Progress& progress) const;

    const Plan& plan_;
    const Schedule& schedule_;
    const Narration& narration_;
    const std::vector<SourceRecording>& sources_;
    std::int64_t frames_ = 0;
    std::vector<Heard> heard_;
    double gain_ = 1;
    std::unique_ptr<Limiter> limiter_;
    std::int64_t fed_ = 0;
    media::Samples waiting_;  // limited, not yet given out
    std::size_t skip_ = 0;    // the limiter's delay still to be thrown away
};

}  // namespace canalogue::film
