// Pieces that scenes are drawn from. Coordinates are pixels of the canvas.
#pragma once

#include "demo_media/chance.hpp"
#include "demo_media/labelled/scene.hpp"

namespace canalogue::demo::labelled {

// A new thing; its id is what the ids picture holds.
std::uint8_t add_thing(SceneCanvas& c, const std::string& what, const std::string& words = "");
void fill_table(SceneCanvas& c, cv::Vec3b colour, Chance& chance);  // an uneven plain background
// Words whose left top is at `at`; what is written by one call is one thing.
void write_on(SceneCanvas& c, const std::string& words, cv::Point at, const std::string& font, int height,
              cv::Vec3b colour, bool bold = false, bool slanted = false);
void paper(SceneCanvas& c, cv::Rect where, cv::Vec3b colour);
void soft_oval(SceneCanvas& c, cv::Point middle, cv::Size half, double turn, cv::Vec3b colour, double soft,
               double strength = 1, int id = -1);
void bar_code(SceneCanvas& c, cv::Rect where, Chance& chance);
// Head and shoulders seen from the front in `face`.
void person_in_front(SceneCanvas& c, cv::Rect face, Chance& chance);
// A head from its side with the ear in the middle, filling the canvas.
void head_from_side(SceneCanvas& c, Chance& chance);
void open_hand(SceneCanvas& c, Chance& chance);
// Light from one side, mottled, over everything.
void light_falls(SceneCanvas& c, Chance& chance);

}  // namespace canalogue::demo::labelled
