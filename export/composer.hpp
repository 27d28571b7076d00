// Puts a film frame together: ground, covered picture, side, labels, notice, captions, strip; or a card.
// One per thread. Sees pictures only after covering.
#pragma once

#include <memory>
#include <vector>

#include "app/core/audience.hpp"
#include "export/captions.hpp"
#include "export/passage_pictures.hpp"
#include "export/pointing.hpp"
#include "export/strip.hpp"

namespace canalogue::film {

class Composer {
  public:
    Composer(const Plan& plan, const Schedule& schedule, const std::vector<Event>& events, const std::vector<Recording>& recordings,
             const Vocabulary& vocabulary, const std::vector<Cue>& cues, Audience audience);

    // The room that pictures are fitted into.
    Size picture_room() const;

    // `shown` is what the piece at this frame shows; none for cards. A picture that lies on a film frame and is nobody else's is
    // drawn around instead of being copied. Null when memory is short.
    media::FramePtr compose(long frame, ShownPictures* shown);

    // A still: the picture with its side and words.
    media::FramePtr still(const CoveredPicture& picture, Ear ear, const std::string& words);

  private:
    struct ShareOfRoom {
        int x, y, w, h;
    };
    const Overlay& side(Ear ear);
    const Overlay& label(const std::string& words);
    const Overlay& card(std::size_t item);
    Overlay drawn_card(std::size_t item) const;
    const Overlay& caption(std::size_t cue);
    const Label* label_at(const Passage& passage, RecordingTime t) const;
    void lay_caption(AVFrame& frame, long number, const Overlay* over);
    void lay_passage(AVFrame& frame, long number, const Piece& piece, const Passage& passage, const ShownPictures& shown);
    PictureArea lay_picture(AVFrame& frame, const CoveredPicture& picture, Ear ear, const std::string& tag, const ShareOfRoom& room);
    ShareOfRoom room_of(bool beside, bool second) const;
    media::FramePtr ground_of(const ShownPictures& shown) const;
    static PictureArea area_of(const CoveredPicture& picture, const ShareOfRoom& room);
    void surround(AVFrame& frame, const ShownPictures& shown) const;
    void lay_words_beside(AVFrame& frame, const Beside& beside, const PictureArea& first, const PictureArea& other);
    const Overlay& tag(const std::string& words);
    std::string changes_told(std::size_t item) const;
    bool narrow() const { return film_.w <= film_.h; }  // upright or square
    int foot() const;  // words end above it: where the strip begins, wherever it lies
    const Recording* recording(const std::string& id) const;

    const Plan& plan_;
    const Schedule& schedule_;
    const std::vector<Recording>& recordings_;
    const std::vector<Cue>& cues_;
    Size film_;
    double scale_;
    std::unique_ptr<Strip> strip_;  // null when off
    Overlay notice_, covered_;
    OverlayCache<Ear> sides_{2};
    OverlayCache<std::string> labels_{8}, tags_{6};
    OverlayCache<std::size_t> cards_{1}, captions_{4};
};

}  // namespace canalogue::film
