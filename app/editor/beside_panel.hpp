// Another picture beside a passage: of which visit, which moment of it, and at which instant of the passage the two meet.
// Draws, and gives back what was done in words for the journal; empty: nothing. Window's thread.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "app/desk/visiting.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class BesidePanel {
  public:
    // `now`: the instant that is shown, of the passage's recording; none while another is shown.
    std::string draw(Workplace& w, Passage& passage, std::optional<RecordingTime> now);
    // What is being typed is given up; a moment that was chosen stays: one goes elsewhere to find it.
    void forget() { drafts_.clear(); }

  private:
    void read(Workplace& w);
    std::string draw_set(Workplace& w, Passage& p);
    void draw_visits();
    void draw_moments(Workplace& w, const desk::Visit& visit);
    std::string draw_meeting(Workplace& w, Passage& p, std::optional<RecordingTime> now);
    const desk::Visit* visit() const;  // the one that is chosen
    std::string title_of(const std::string& session) const;

    std::vector<desk::Visit> visits_;
    std::string of_;          // the session they were read for, at this revision
    int revision_ = -1;
    bool unlocked_ = false;
    std::string chosen_;      // a session; empty: this one
    std::optional<desk::Visit::Moment> moment_;  // of the chosen visit
    std::map<std::string, std::string> drafts_;
};

}  // namespace canalogue::editor
