// The picture: the frame that is showing, zoomed and moved by the hand, with covers in the chosen look,
// the side beside it, and boxes drawn on it. Window's thread.
#pragma once

#include <imgui.h>

#include <functional>
#include <optional>

#include "app/editor/picture_texture.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

// Where the whole picture lies on the screen, for what is drawn and handled on it.
struct PictureOnScreen {
    ImVec2 origin, size;
    bool over = false;  // the pointer is on the pane
};

class PicturePane {
  public:
    // Drawn over the picture, and has the mouse there (but not the wheel); empty: nobody.
    std::function<void(const PictureOnScreen&)> guest;

    // Drawn over the picture, too, and leaves the mouse alone; empty: nothing.
    std::function<void(const PictureOnScreen&)> marks;

    // Draws into the current ImGui window, in the given area.
    void draw(Workplace& w, ImVec2 from, ImVec2 size);

    // From now on the next drag on the picture draws a box, which is handed over when the hand lets go.
    void ask_for_box(std::function<void(UprightBox)> then) { box_wanted_ = std::move(then); }
    bool asking() const { return static_cast<bool>(box_wanted_); }
    void stop_asking() { box_wanted_ = nullptr, drag_.reset(); }

    void zoom_by(float factor) { zoom_to(zoom_ * factor); }
    void fit() { zoom_ = 1, centre_ = {0.5f, 0.5f}; }

    // What stands on the screen right now, exactly as the public would see it: recording and frame. None
    // while an older picture still stands.
    std::optional<std::pair<std::string, std::size_t>> shown_publicly() const { return shown_publicly_; }
    // When the picture that stands on the screen is first shown, in session time.
    std::optional<SessionTime> shown_at(const SessionView& view) const;
    const PictureTexture& texture() const { return texture_; }

  private:
    struct Key {
        std::string recording;
        std::size_t frame = SIZE_MAX;
        bool covered = false;
        std::uint64_t covers = 0;  // which geometry
        Size most{};               // drawn within this size, while playing; else every pixel
        bool operator==(const Key&) const = default;
    };
    void refresh(Workplace& w);
    bool upload(const media::Picture& picture, const Recording& r, const std::vector<StoredBox>& boxes, Size most);
    void handle_mouse(Workplace& w, ImVec2 from, ImVec2 size);
    void draw_outlines(const Workplace& w);
    void draw_side(const Workplace& w, ImVec2 from, ImVec2 size) const;
    void draw_state(Workplace& w, ImVec2 from, ImVec2 size) const;
    void zoom_to(float z) { zoom_ = z < 1 ? 1 : z > 12 ? 12 : z; }
    ImVec2 to_screen(float x, float y) const;         // upright pixels
    ImVec2 to_picture(ImVec2 screen) const;

    PictureTexture texture_;
    Key shown_;
    Size size_;               // of the picture as it is, whatever the texture holds
    bool unshowable_ = false, reduced_ = false, whole_ = false;
    std::optional<std::pair<std::string, std::size_t>> shown_publicly_;
    float zoom_ = 1;
    ImVec2 centre_{0.5f, 0.5f};  // of the picture, in shares of it
    ImVec2 origin_{0, 0};        // where the picture's upper left corner is on the screen
    float pixel_ = 1;            // screen pixels for one of the picture's
    std::function<void(UprightBox)> box_wanted_;
    std::optional<ImVec2> drag_;  // where the box began, in picture pixels
    double late_since_ = 0;
};

// Where a suspect's box is at an instant; none where it covers the whole picture or only sound.
std::optional<UprightBox> box_at(const Suspect& s, RecordingTime t);

}  // namespace canalogue::editor
