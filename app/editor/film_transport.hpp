// What stands below the preview of a film: play, where it is, and a bar to go elsewhere. Window's thread.
#pragma once

#include <imgui.h>

namespace canalogue::editor {

class FilmPreview;

// In a row from `from` to `right`; what follows may stand to the right of it.
void draw_film_transport(FilmPreview& film, ImVec2 from, float right);

// To the item that begins after the one that is shown (by: 1), or to its own beginning and those before (-1).
void go_to_item(FilmPreview& film, int by);

}  // namespace canalogue::editor
