// Lets a test find widgets by name in the running window. It answers only when the program was started
// with --probe SOCKET, and tells nothing but names, rectangles and states of what is on screen.
//   "find NAME"   -> {"x","y","w","h","state"} of the last drawn frame, or {"missing":true}
//   "list"        -> all names
//   "idle"        -> {"idle":true} once no work is under way and a frame was drawn since
//   "frames"      -> {"frames":N}, how many were drawn
//   "all"         -> {"frames":N}; the next frame is drawn whole, whatever changed
#pragma once

#include <atomic>
#include <map>
#include <string>
#include <thread>
#include <utility>

namespace canalogue::editor {

class Probe {
  public:
    Probe() = default;
    ~Probe();
    Probe(const Probe&) = delete;
    Probe& operator=(const Probe&) = delete;

    // False when the socket cannot be made. From then on the window is woken when somebody asks, so that it
    // rests like any other while nobody does.
    bool listen(const std::string& socket);
    void close();

    void begin_frame() { building_.clear(); }
    // Upper left, size, and a word or two: "on", "off", the text of a field.
    void mark(const std::string& name, float x, float y, float w, float h, const std::string& state = "");
    void end_frame(bool idle);
    // Whether somebody asked for a whole frame since.
    bool wants_all() { return std::exchange(wants_all_, false); }

    // Answers whoever asked; never blocks. Call once a frame.
    void answer();

  private:
    struct Place {
        float x, y, w, h;
        std::string state;
    };
    std::string reply(const std::string& line);
    void answer_all();
    void watch();
    int server_ = -1;
    std::atomic<int> client_{-1};
    int closing_ = -1;                  // an eventfd: ends the watching
    std::atomic<bool> woken_{false};    // the window was woken and has not answered yet
    std::thread watcher_;               // wakes the window; touches nothing else
    long frames_ = 0;
    std::string path_, pending_;
    std::map<std::string, Place> building_, shown_;
    bool idle_ = false, wants_all_ = false;
};

// The window's probe, for widgets to mark themselves. One window, one thread.
Probe& probe();

}  // namespace canalogue::editor
