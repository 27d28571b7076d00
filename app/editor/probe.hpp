// Lets a test find widgets by name in the running window. It answers only when the program was started
// with --probe SOCKET, and tells nothing but names, rectangles and states of what is on screen.
//   "find NAME"   -> {"x","y","w","h","state"} of the last drawn frame, or {"missing":true}
//   "list"        -> all names
//   "idle"        -> {"idle":true} once no work is under way and a frame was drawn since
#pragma once

#include <map>
#include <string>

namespace canalogue::editor {

class Probe {
  public:
    Probe() = default;
    ~Probe();
    Probe(const Probe&) = delete;
    Probe& operator=(const Probe&) = delete;

    // False when the socket cannot be made.
    bool listen(const std::string& socket);
    bool listening() const { return server_ >= 0; }

    void begin_frame() { building_.clear(); }
    // Upper left, size, and a word or two: "on", "off", the text of a field.
    void mark(const std::string& name, float x, float y, float w, float h, const std::string& state = "");
    void end_frame(bool idle);

    // Answers whoever asked; never blocks. Call once a frame.
    void answer();

  private:
    struct Place {
        float x, y, w, h;
        std::string state;
    };
    std::string reply(const std::string& line) const;
    int server_ = -1, client_ = -1;
    std::string path_, pending_;
    std::map<std::string, Place> building_, shown_;
    bool idle_ = false;
};

// The window's probe, for widgets to mark themselves. One window, one thread.
Probe& probe();

}  // namespace canalogue::editor
