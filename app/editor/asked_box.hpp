// A box that the hand is asked to draw on the picture: one at a time, whoever asks. Window's thread.
#pragma once

#include <optional>
#include <string>

#include "app/core/close_up.hpp"
#include "app/editor/picture_pane.hpp"

namespace canalogue::editor {

class AskedBox {
  public:
    explicit AskedBox(PicturePane& pane) : pane_(pane) {}

    // From now on the next drag on the picture is for this; what was asked for before is given up.
    void ask(const std::string& what);
    // Whether the hand is still to draw it: Esc leaves it.
    bool awaits(const std::string& what) const { return what_ == what && awaiting(); }
    bool awaiting() const { return !what_.empty() && !box_ && pane_.asking(); }
    // What was drawn for this, once, in shares of the recording's whole upright picture; says what to do until then.
    std::optional<ShareBox> drawn(const Workplace& w, const std::string& recording, const std::string& what);
    void forget();

  private:
    PicturePane& pane_;
    std::string what_;
    std::optional<UprightBox> box_;  // drawn, not yet used
};

}  // namespace canalogue::editor
