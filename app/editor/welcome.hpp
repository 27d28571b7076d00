// The first start: who works here, a passphrase, a session to try things on; and a tour in six steps.
// Window's thread.
#pragma once

#include <imgui.h>

#include <string>

#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class Welcome {
  public:
    // True while the welcome page takes the whole window.
    bool wanted(const Workplace& w) const { return w.settings.author.empty(); }
    void draw(Workplace& w, ImVec2 size);

    // The tour lies over the window, in a corner, until it is ended.
    bool touring() const { return step_ > 0; }
    void draw_tour(Workplace& w, ImVec2 size);
    void start_tour() { step_ = 1; }

    // Draws the demo session into this library, beside the window, and opens it.
    static void open_demo(Workplace& w);

  private:
    void finish(Workplace& w, bool demo);
    std::string clinic_, author_, passphrase_, again_;
    int step_ = 0;
    bool looked_ = false, has_vault_ = false, begun_ = false;  // what the library holds already
};

}  // namespace canalogue::editor
