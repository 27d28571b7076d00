// A small case as learners get it.
#pragma once

#include "export/case_page.hpp"
#include "tests/core/values.hpp"

namespace canalogue::test {

inline film::CasePage small_case() {
    film::CasePage page;
    page.title = "Hard wax & a <cotton> tip";
    page.language = "en-GB";
    page.film_file = "clip.mp4";
    page.size = {1280, 720};
    page.length = s(60);
    page.about = {"a harbour clinic", "learners", {"Tell wax from skin", "Know when to stop"}, "An engineer hears less on the right.", "Both canals are clear.", "Drawn: nobody had to be asked.", "None.",
                  {"Voice: the draft voice"}, {"ear care", "wax"}};
    page.chapters = {{{0}, "Introduction"}, {{s(12)}, "Right ear"}, {{s(40)}, "Left ear"}};
    const Symbol square{"square", "B", "#E69F00"}, ring{"ring", "D", "#56B4E9"};
    page.events = {{{{s(14)}, {s(15)}}, Ear::right, square, "Blockage found: hard wax"}, {{{s(44)}, {s(50)}}, Ear::left, ring, "Drum visible: all"}};
    page.tracks = {{"en-GB", {{{{s(12)}, {s(15)}}, {"The canal is blocked", "by </script> hard wax."}}}}};
    Question choice;
    choice.asks = "What blocks it?";
    choice.choices = {"Skin", "Wax"};
    choice.right = 1;
    choice.reveals = "It is wax.";
    Question spot;
    spot.asks = "Where is the drum?";
    spot.reveals = "It is here.";
    page.questions = {{{s(16)}, choice, {}, 0}, {{s(45)}, spot, ShareBox{0.4, 0.3, 0.2, 0.2}, 1}};
    return page;
}

}  // namespace canalogue::test
