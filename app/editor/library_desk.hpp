// The library: find a session, bring one in, look at what was exported. Stills are covered ones only.
// Window's thread.
#pragma once

#include <imgui.h>

#include <map>
#include <string>
#include <vector>

#include "app/desk/browsing.hpp"
#include "app/editor/picture_texture.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class LibraryDesk {
  public:
    // The list of sessions, in the right panel.
    void draw(Workplace& w);
    // The chosen session's stills, where the picture is in the other desks.
    void draw_sheet(Workplace& w, ImVec2 from, ImVec2 size);
    // Files dropped on the window.
    void dropped(const std::vector<std::string>& files);
    // Cards are read again.
    void stale() { fresh_ = false; }

  private:
    void draw_import(Workplace& w);
    void draw_kinds();
    void draw_card(Workplace& w, const desk::SessionCard& card);
    void import(Workplace& w);
    const RgbTexture* still(Workplace& w, const std::string& file);

    bool fresh_ = false, importing_ = false;
    std::vector<desk::SessionCard> cards_;
    desk::Search search_;
    bool kinds_shown_ = false;
    std::string chosen_;
    std::vector<std::string> files_;
    std::string file_, name_;
    std::optional<Ear> ear_;
    std::map<std::string, RgbTexture> stills_;
    std::map<std::string, bool> wanted_;
};

}  // namespace canalogue::editor
