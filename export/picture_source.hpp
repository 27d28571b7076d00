// Covered pictures of one recording, in film size: the only door through which pictures reach a film,
// a still or a poster. Decode, cover, deinterlace, scale and turn, in this order; a close-up is taken out
// of the turned picture, so that what lies under a cover can reach it no more than the whole picture.
// One per thread.
#pragma once

#include <algorithm>
#include <memory>
#include <optional>

#include "app/core/cover.hpp"
#include "app/core/plan.hpp"
#include "app/core/session.hpp"
#include "app/media/deinterlace.hpp"
#include "app/media/frame_reader.hpp"
#include "app/media/window_sampler.hpp"

namespace canalogue::film {

// What a render knows of a recording. Plain values and shared indexes: no library behind it.
struct SourceRecording {
    Recording recording;  // with its path
    std::shared_ptr<const media::FrameIndex> index;
    Covers covers;        // as the audience requires
    CoverLook look = CoverLook::soft;
};

struct CoveredPicture {
    std::shared_ptr<AVFrame> frame;  // film-size 4:2:0 BT.709 limited
    RecordingTime time;              // when it is first shown in its recording
    bool whole_covered = false;      // nothing of the recording is left to see
    std::optional<media::Sheet> sheet{};  // set: the frame is a window of a film frame, on which nothing else is drawn yet
};

// A picture lies in the middle of the room it is fitted into, on even pixels.
struct Place {
    int x = 0, y = 0;
};
inline Place middle_of(Size room, Size picture) { return {(room.w - picture.w) / 2 & ~1, (room.h - picture.h) / 2 & ~1}; }

class PictureSource {
  public:
    // `limit`: pictures are fitted into this size, keeping their shape; sizes are even. `film`: the frames in whose upper left
    // corner that size lies, when pictures may be made on them.
    static Result<PictureSource> open(const SourceRecording& source, Size limit, int threads, std::optional<Size> film = {});

    Size picture_size() const { return size_; }

    // The picture shown at t. Cheapest when t advances; never decodes twice what it still holds.
    Result<CoveredPicture> at(RecordingTime t);

    // The same for who will not ask for it again and may draw on it: made on a film frame where that is known, and not kept.
    Result<CoveredPicture> once(RecordingTime t);

    // What a passage shows at t: the picture, or its close-up window in the picture's place and shape, taken
    // from the recording at its full size.
    Result<CoveredPicture> of(const Passage& passage, RecordingTime t);

    // A part of the picture shown at t, in its place and shape. `window` in shares, of the picture's own shape.
    Result<CoveredPicture> window(RecordingTime t, const ShareBox& window);

    // How long one picture of the recording is shown, in the mean.
    Nanos picture_length() const { return static_cast<Nanos>(static_cast<double>(kSecond) / std::max(1.0, source_.recording.frames_per_second)); }

  private:
    explicit PictureSource(const SourceRecording& source, media::FrameReader reader);
    Result<void> start(RecordingTime t);
    Result<void> step();
    RecordingSpan shown_during(RecordingTime t) const;
    Result<void> take(media::Picture picture);
    Result<void> cover(media::Picture& picture) const;
    Result<const media::Picture*> front_covered();
    Result<RecordingTime> walk_to(RecordingTime t);
    Result<CoveredPicture> converted(const media::Sheet* sheet);
    Result<std::shared_ptr<AVFrame>> full_size();

    SourceRecording source_;
    media::FrameReader reader_;
    media::Deinterlacer deinterlacer_;
    media::FilmConverter converter_, full_converter_;
    media::WindowSampler sampler_;
    Size size_;
    std::optional<media::Sheet> sheet_;
    // Deinterlaced, still in stored form. Many pictures are only passed over (at a quick pace, on the way to a still), so they
    // are covered and converted when they are wanted: front_covered() is the one way from here to any use. What deinterlacing
    // mixes with its neighbours is covered before.
    std::vector<media::Picture> ready_;
    bool front_is_covered_ = false;
    std::optional<CoveredPicture> current_;  // the front one of these, in film size
    std::shared_ptr<AVFrame> current_full_;  // and in its own, when a close-up has asked for it
    RecordingTime front_, front_end_;        // when the front one is shown
    bool ended_ = false;
    bool started_ = false;
};

}  // namespace canalogue::film
