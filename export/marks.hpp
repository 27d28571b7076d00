// The marks that stand for kinds of event: a shape, a letter and a colour together, never colour alone.
#pragma once

#include "app/core/vocabulary.hpp"
#include "export/canvas.hpp"

namespace canalogue::film {

// Draws the mark centred at x, y, about `size` pixels across.
void draw_mark(Canvas& canvas, double x, double y, double size, const Symbol& symbol);

// The same mark as a part of a page: <svg class="mark">, without a name of its own.
std::string mark_svg(const Symbol& symbol);

}  // namespace canalogue::film
