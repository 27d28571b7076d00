// The films of a session with what stands against their sign-off, and the sign-off itself. Window's thread.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/desk/signing.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class SignOffPanel {
  public:
    void draw(Workplace& w);
    // What was watched has grown: read again what stands against each film.
    void look_again() { revision_ = -1; }

  private:
    struct Line {
        desk::Export made;
        std::vector<std::string> against;
    };
    void read(Workplace& w);
    void draw_line(Workplace& w, const Line& line);

    std::optional<std::vector<Line>> lines_;  // none while they are being read
    std::string of_;
    int revision_ = -1;
};

}  // namespace canalogue::editor
