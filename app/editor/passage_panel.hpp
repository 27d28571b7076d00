// What else a passage can do with its picture and sound: light and view, pointers, the clock face, a picture beside it, the
// original sound. Draws, and gives back what was done in words for the journal; empty: nothing. Window's thread.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "app/core/plan.hpp"
#include "app/editor/asked_box.hpp"
#include "app/editor/beside_panel.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class PassagePanel {
  public:
    explicit PassagePanel(AskedBox& box) : box_(box) {}

    // `now`: the instant that is shown, of the passage's recording; none while another is shown.
    std::string draw(Workplace& w, Passage& passage, std::optional<RecordingTime> now);
    // What is being typed or drawn is given up: another card, another plan.
    void forget();

  private:
    enum class Part { none, view, label, point, place, beside, sound };
    std::string draw_labels(Workplace& w, Passage& p, std::optional<RecordingTime> now);
    std::string draw_view(Workplace& w, Passage& p, std::optional<RecordingTime> now);
    std::string draw_pointers(Workplace& w, Passage& p, std::optional<RecordingTime> now);
    std::string draw_pointer(Workplace& w, Passage& p, std::size_t i, std::optional<RecordingTime> now);
    std::string draw_places(Passage& p, std::optional<RecordingTime> now);
    std::string draw_sound(const Workplace& w, Passage& p, std::optional<RecordingTime> now);

    AskedBox& box_;
    Part part_ = Part::none;
    struct Followed {
        std::string recording;
        RecordingTime from;
        Pointer pointer;
    };
    std::optional<Followed> followed_;   // done by a job, not yet taken over
    BesidePanel beside_;
    std::map<std::string, std::string> drafts_;
};

}  // namespace canalogue::editor
