// The window's own widgets, focus order and measures. Everything a person can press has a name, by which
// tests find it. Used by the window's thread only.
#pragma once

#include <imgui.h>

#include <string>
#include <vector>

#include "app/editor/theme.hpp"

namespace canalogue::editor {

// The program's own focus order: Tab and Shift+Tab go through what was drawn, Enter presses it. ImGui's
// keyboard navigation is off, because it would take the arrows from the picture.
class Focus {
  public:
    void begin_frame();
    // Registers a widget in the order of drawing. True when it has the focus.
    bool here(const std::string& name);
    // True once when the focus has just arrived here (a field then takes the keyboard).
    bool arrived(const std::string& name) const { return visible_ && moved_ && at_ == name; }
    // True when Enter was pressed on the widget in this frame.
    bool pressed(const std::string& name) const { return visible_ && enter_ && at_ == name; }
    void go(const std::string& name) { at_ = name, visible_ = moved_next_ = true; }
    void hide() { visible_ = false; }
    bool visible() const { return visible_; }

  private:
    void step(int by);
    std::vector<std::string> order_, last_;
    std::string at_;
    bool visible_ = false, moved_ = false, moved_next_ = false, enter_ = false;
};

// Keys as they came, with the modifiers that were down at that moment: none is lost or mistaken however
// slowly frames are drawn. GLFW's names.
class Keys {
  public:
    void came(int key, bool repeat, int modifiers) { coming_.push_back({key, repeat, modifiers}); }
    // Takes what came until a key comes a second time: that press has the next frame, so that each counts.
    // A key held down repeats once a frame at most.
    void begin_frame();
    bool down(int key) const { return any(key, false, false); }       // pressed once, without Ctrl
    bool held(int key) const { return any(key, true, false); }        // or repeated while held
    bool with_ctrl(int key) const { return any(key, false, true); }
    // Whether Shift was down for a key of this frame.
    bool shifted(int key) const;
    bool empty() const { return now_.empty() && coming_.empty(); }

  private:
    struct Press {
        int key;
        bool repeat;
        int modifiers;
    };
    bool any(int key, bool repeats, bool ctrl) const;
    std::vector<Press> now_, coming_;
};

struct Ui {
    Fonts fonts;
    float scale = 1;
    Focus focus;
    Keys keys;
    // Where the pointer was when the left button went down, and when it came up: it may have gone on before the next frame.
    ImVec2 pointer{0, 0}, pressed_at{0, 0}, released_at{0, 0};
    std::string written_in;  // the field that had the keyboard last, and in which frame
    int written_at = 0;
    bool typing() const { return ImGui::GetIO().WantTextInput; }
};
Ui& ui();

inline float px(float at_scale_1) { return at_scale_1 * ui().scale; }

enum class Look { plain, primary, chosen, danger, bare };

// A button; `key` is written small at its right. Width 0: as wide as its words, -1: as wide as there is room.
bool button(const std::string& name, const std::string& words, const std::string& key = "", Look look = Look::plain, bool enabled = true, float width = 0);

// A choice among several, beside one another; wraps to the next line where there is no room.
bool chip(const std::string& name, const std::string& words, bool chosen);

// One line of text. True when it was changed and finished (Enter, or the field was left).
bool field(const std::string& name, std::string& text, const char* hint, float width = -1, bool secret = false);

// Whether Enter was pressed in the field of this name. By our own keys: ImGui misses a press that is shorter than a
// frame, and gives the field up a frame later or sooner. Call it after `field`.
bool entered(const std::string& name);

// A loudspeaker to press; crossed out when `off`.
bool sound_button(const std::string& name, bool off);

// A bar with a knob, for 0 .. 1. `dim`: it has no effect now. `moved`: the hand changed the value; `done`: and let go.
struct Slide {
    bool moved = false, done = false;
};
Slide slider(const std::string& name, double& value, float width, bool dim);

// A row of a list: a full-width area of this height. Draw into it after; `chosen` is painted.
struct Row {
    ImVec2 from, to;
    bool pressed = false, hovered = false;
};
Row row(const std::string& name, float height, bool chosen);

// A picture from `a` to `b` in an area, black where it does not reach. Nothing lies under it: a processor that draws every pixel
// would draw those twice.
void picture_in(ImVec2 from, ImVec2 size, unsigned texture, ImVec2 a, ImVec2 b);

void title(const char* words);
void strong(const char* words);
void quiet(const char* words);            // wrapped
void said(const char* words, Rgb colour); // wrapped
// Lines of text; one that wraps goes on under its own beginning.
void indented(const std::string& lines);
// Text cut to a width with dots; the whole of it in a tip.
void text_within(ImVec2 at, float width, const std::string& words, Rgb colour, ImFont* font = nullptr);

// The same in one or two lines, in the middle of a height.
void text_in_two(ImVec2 at, ImVec2 room, const std::string& words, Rgb colour);

// The same, clear of the last line's widgets.
void gap(float pixels);

}  // namespace canalogue::editor
