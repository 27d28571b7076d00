// The marks of the kinds of event, as textures: drawn by the very code that draws them into films.
#pragma once

#include <imgui.h>

#include <map>
#include <string>

#include "app/core/vocabulary.hpp"

namespace canalogue::editor {

class MarkTextures {
  public:
    ~MarkTextures();
    // Draws the mark of a kind centred at `at`, `size` screen pixels across.
    void draw(ImDrawList* on, ImVec2 at, float size, const Symbol& symbol, float alpha = 1.0f);

  private:
    unsigned texture(const Symbol& symbol, int pixels);
    std::map<std::string, unsigned> made_;
};

MarkTextures& marks();

}  // namespace canalogue::editor
