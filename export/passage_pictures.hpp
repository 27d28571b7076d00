// What a frame of a passage shows: the picture of its recording as the passage changes it (blended where it is quickened,
// steadied, mirrored, turned, lighter, white balanced, close up), and what stands beside it. One per thread.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "export/picture_source.hpp"
#include "export/schedule.hpp"
#include "export/steadying.hpp"
#include "export/view_changes.hpp"

namespace canalogue::film {

struct ShownPictures {
    CoveredPicture picture;
    ShareBox window;  // which part of the upright picture it shows, before it is mirrored or turned
    std::optional<CoveredPicture> beside;
};

// What each of two pictures in one frame is fitted into: side by side, or one over the other where the film is not wider than
// high, with room for the words under each.
Size room_beside(Size room);

// What two pictures that fill their rooms are cut to: the words under them keep their place, and the two do not touch.
Size cut_beside(Size room);

// How a recording of another session is named among the sources of a render.
std::string source_name(const Beside& beside);

class PassagePictures {
  public:
    // `sources` must outlive it. `room`: what a passage's pictures are fitted into. `film`: the frames in whose upper left corner
    // that room lies, for a composer that draws on.
    PassagePictures(const std::vector<SourceRecording>& sources, Size room, std::optional<Size> film = {}) : sources_(sources), room_(room), film_(film) {}

    // Closes what is open: what comes next cannot depend on what was decoded before.
    void forget() { main_.reset(), other_.reset(), prepared_.reset(); }

    Result<ShownPictures> at(const Passage& passage, const Piece& piece, long frame);

  private:
    struct Opened {
        std::string id;
        Size room;
        PictureSource source;
    };
    // What holds for a whole passage and is measured once, of covered pictures.
    struct Prepared {
        std::size_t item = 0;
        RecordingSpan span;
        LightChange light;
        std::shared_ptr<const SteadyPath> steady;
    };
    Result<PictureSource*> source(std::optional<Opened>& slot, const std::string& id, Size room, bool fill);
    ShareBox window_at(const Passage& passage, RecordingTime t) const;
    Result<CoveredPicture> shown(PictureSource& source, const Passage& passage, RecordingTime t);
    bool plain(const Passage& passage) const;
    Result<CoveredPicture> blended(PictureSource& source, const Passage& passage, const Piece& piece, long frame);
    Result<void> prepare(PictureSource& source, const Passage& passage, std::size_t item);

    const std::vector<SourceRecording>& sources_;
    Size room_;
    std::optional<Size> film_;
    std::optional<Opened> main_, other_;  // one recording each: memory stays the same however many a plan uses
    std::optional<Prepared> prepared_;
    ViewChanger changer_;
};

}  // namespace canalogue::film
