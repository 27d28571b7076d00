// A teaching set from finished films: which, in which order, under which title, and where its page goes. Window's thread.
#pragma once

#include <string>
#include <vector>

#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class SetPanel {
  public:
    // `newest`: the folder of the film that was made last, to be added by one press; empty: there is none.
    void draw(Workplace& w, const std::string& newest);

  private:
    bool draw_films();
    void add(const std::string& folder);

    std::vector<std::string> films_;
    std::string title_, folder_, typed_;
};

}  // namespace canalogue::editor
