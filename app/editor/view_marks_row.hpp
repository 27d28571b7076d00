// Marking spans as inside or outside, where the spotter for the outside takes one for the other. Window's thread.
#pragma once

#include <string>
#include <vector>

#include "app/editor/time_map.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class ViewMarksRow {
  public:
    void draw(Workplace& w, TimeMap& map);

  private:
    void set_right(Workplace& w);
    bool open_ = false;
    std::string of_;  // the session that the marks belong to
    std::vector<SessionSpan> inside_, outside_;
};

}  // namespace canalogue::editor
