// The clinician's desk: place events while the film runs, set what they were, read the record.
// Window's thread.
#pragma once

#include <imgui.h>

#include <map>
#include <string>

#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class SessionDesk {
  public:
    void draw(Workplace& w);
    // A key typed while no field has the keyboard: digits and letters place events.
    void key(Workplace& w, const std::string& key);
    // Starts an event of this kind at the shown frame; of a kind with a length, ends the one that runs.
    void place(Workplace& w, const EventKind& kind);
    void remove_chosen(Workplace& w);
    void accept_chosen(Workplace& w);
    void swap_side(Workplace& w);
    void copy_record(Workplace& w) const;
    void find_again(Workplace& w, const std::string& file);
    void go_to_sharpest(Workplace& w) const;
    void go_to_event(Workplace& w, int direction) const;

  private:
    enum class Page { place, events, record };
    void draw_places(Workplace& w);
    void draw_events(Workplace& w);
    void draw_event_row(Workplace& w, const SessionView::Placed& p);
    void draw_record(Workplace& w);
    void draw_below(Workplace& w, const Event& e);
    void draw_chosen(Workplace& w, const Event& e);
    void draw_attribute(Workplace& w, const Event& e, const Attribute& a);
    void draw_dial(Workplace& w, const Event& e, ImVec2 from);
    void measure(Workplace& w);
    void draw_missing(Workplace& w);
    void set(Workplace& w, const Event& e, const std::string& attribute, const std::string& value);

    Page page_ = Page::place;
    std::map<std::string, std::string> running_;  // kind with a length -> the event that has begun
    std::map<std::string, std::map<std::string, std::string>> last_;  // kind -> what was set last
    std::string drafts_of_;                        // the event that the fields below belong to
    std::map<std::string, std::string> drafts_;    // attribute or "note" -> what stands in its field
    std::string shown_event_;                      // the one that the list was scrolled to
    std::string find_;                             // a path typed to find a recording again
};

}  // namespace canalogue::editor
