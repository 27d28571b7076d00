// Who says a narration line: the row below it with its takes, and recording a new one with count-in and meter.
// Window's thread.
#pragma once

#include <optional>
#include <string>

#include "app/core/plan.hpp"
#include "app/editor/microphone.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class TakePanel {
  public:
    // The row of line `number`, a part of `plan`. What is still to be kept of it, in words for the journal; empty:
    // nothing (a take that was recorded is kept with the plan, as one act).
    std::string draw(Workplace& w, const Plan& plan, std::size_t number, NarrationLine& line);

    // Whatever is being recorded is thrown away; another card was chosen.
    void leave();
    // The meter and the count move while it is so: the window draws on.
    bool recording() const { return of_.has_value(); }

  private:
    void draw_recording(Workplace& w, const Plan& plan, NarrationLine& line);
    std::string draw_choice(Workplace& w, const Plan& plan, std::size_t number, NarrationLine& line);
    void draw_meter();
    void begin(Workplace& w, std::size_t number);
    void finish(Workplace& w, const Plan& plan, NarrationLine& line);
    void listen_for_names(Workplace& w, const std::string& take);
    void hear(Workplace& w, const std::string& language, const NarrationLine& line);

    Microphone microphone_;
    std::optional<std::size_t> of_;  // the line that is being recorded
    double began_ = 0;               // of the count-in
};

}  // namespace canalogue::editor
