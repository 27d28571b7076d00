// The hand on a close-up window: what it has grabbed on the picture, and what the windows look like there.
// It changes nothing itself; whoever owns the plan keeps what it gives back. Window's thread.
#pragma once

#include <optional>

#include "app/core/close_up.hpp"
#include "app/editor/picture_pane.hpp"

namespace canalogue::editor {

class CloseUpHand {
  public:
    bool second = false;  // which of the two positions is being placed

    // The window being placed; as the hand holds it, while it does.
    ShareBox window(const CloseUp& c) const { return held_ ? *held_ : fitted(second && c.last ? *c.last : c.first); }
    bool holding() const { return held_.has_value(); }
    void let_go() { grip_ = Grip::none, held_.reset(); }

    // Draws the windows and follows the mouse. A new close-up when the hand has let go of a changed one.
    std::optional<CloseUp> handle(const CloseUp& c, const PictureOnScreen& picture);
    // The window as it moves, while the film runs: nothing to grab.
    static void draw_moving(const ShareBox& now, const PictureOnScreen& picture);

    // With this window in the position that is being placed.
    CloseUp with(const CloseUp& c, const ShareBox& window) const;

  private:
    enum class Grip { none, inside, corner, fresh };
    Grip grip_at(ImVec2 mouse, const ShareBox& window, const PictureOnScreen& picture);
    void follow(ImVec2 mouse, const PictureOnScreen& picture);
    void draw(const CloseUp& c, const PictureOnScreen& picture) const;

    Grip grip_ = Grip::none;
    std::optional<ShareBox> held_;
    ShareBox before_;              // as it was grabbed
    ImVec2 grabbed_{0, 0};         // where, in shares
    ImVec2 stays_{0, 0};           // the corner that stays, in shares
};

}  // namespace canalogue::editor
