// The reviewer's desk: the queue of suspects, what each looks like with and without its cover, and the
// keys that decide. Window's thread.
#pragma once

#include <map>
#include <string>

#include "app/desk/watching.hpp"
#include "app/editor/picture_pane.hpp"
#include "app/editor/sign_off_panel.hpp"
#include "app/editor/time_map.hpp"
#include "app/editor/view_marks_row.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class PrivacyDesk {
  public:
    PrivacyDesk(PicturePane& pane, TimeMap& map) : pane_(pane), map_(map) {}

    void draw(Workplace& w);
    void key(Workplace& w, const std::string& key);

    // Call once a frame: remembers what was really shown in the public look.
    void watch(Workplace& w, bool window_focused);
    const std::vector<SessionSpan>& seen() const { return seen_session_; }
    // Reads what was seen from the library; after a session is opened or changed.
    void read_seen(Workplace& w);
    // What was watched goes to the library now; call before the session is left.
    void keep(Workplace& w);

  private:
    void draw_row(Workplace& w, const desk::SuspectLine& line);
    void draw_queue(Workplace& w);
    void draw_tools(Workplace& w);
    void draw_chosen(Workplace& w, const desk::SuspectLine& line);
    void draw_crops(Workplace& w, const Suspect& s);
    void draw_duty(Workplace& w);
    void draw_vault(Workplace& w);
    void decide(Workplace& w, Verdict verdict);
    void next_open(Workplace& w, int direction);
    void choose(Workplace& w, const std::string& id);
    void go_to_unwatched(Workplace& w);
    void add_box(Workplace& w, UprightBox box);
    void put_right(Workplace& w, UprightBox box);
    void add_span(Workplace& w, SessionSpan span, bool sound);

    PicturePane& pane_;
    TimeMap& map_;
    ViewMarksRow view_marks_;
    std::string reason_, typed_passphrase_, name_;
    bool only_open_ = true;
    bool films_ = false;  // the films and their sign-off instead of the queue
    SignOffPanel sign_off_;
    // Crops of the chosen suspect, and of which frame they are.
    RgbTexture before_, after_;
    std::string crops_of_;
    std::size_t crops_frame_ = SIZE_MAX;
    // What was shown since it was last kept.
    desk::Seen shown_, kept_;
    std::vector<SessionSpan> seen_session_;
    double kept_at_ = 0;
    std::string watching_;  // the session
};

}  // namespace canalogue::editor
