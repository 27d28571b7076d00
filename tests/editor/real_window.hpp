// The program in a real window: a virtual X display, the editor's process, real key and mouse events
// (xdotool), and its probe, which tells where a named widget is.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <sys/types.h>

#include "tests/support/media_files.hpp"

namespace canalogue::test {

using nlohmann::json;

// An X display of its own, gone with the object.
class VirtualDisplay {
  public:
    explicit VirtualDisplay(const std::string& size = "1366x768");
    ~VirtualDisplay();
    VirtualDisplay(const VirtualDisplay&) = delete;
    VirtualDisplay& operator=(const VirtualDisplay&) = delete;
    const std::string& name() const { return name_; }  // ":7"

  private:
    pid_t pid_ = -1;
    std::string name_;
};

class EditorWindow {
  public:
    // Starts the editor and waits until it draws.
    EditorWindow(const VirtualDisplay& display, const fs::path& library, const std::string& more = "", const std::string& size = "1366x768");
    ~EditorWindow();
    EditorWindow(const EditorWindow&) = delete;
    EditorWindow& operator=(const EditorWindow&) = delete;

    json ask(const std::string& question);
    json find(const std::string& name) { return ask("find " + name); }
    bool there(const std::string& name) { return !find(name).contains("missing"); }
    // What a widget says of itself; empty when it is not there.
    std::string state(const std::string& name);

    // Waits until it is there, or its state is as told; throws after `seconds`.
    json wait_for(const std::string& name, double seconds = 15);
    void wait_state(const std::string& name, const std::string& state, double seconds = 15);
    void wait_state_changed(const std::string& name, const std::string& old, double seconds = 15);
    // No work under way and nothing moving.
    void wait_idle(double seconds = 60);

    void click(const std::string& name);
    void click_at(double x, double y);
    void drag(double x0, double y0, double x1, double y1);
    // Faster than the window draws: all of it may fall between two frames.
    void flick(double x0, double y0, double x1, double y1);
    // The parts of a drag, to look in between.
    void press_at(double x, double y);
    void move_to(double x, double y);
    void release();
    void key(const std::string& keys);  // as xdotool names them: "ctrl+z", "F3", "space"
    void key_unseen(const std::string& keys);  // without waiting until it is seen
    void type(const std::string& text);
    void fill(const std::string& field, const std::string& text);

    void close();  // as the window's own button does
    void kill9();
    bool running();
    pid_t pid() const { return pid_; }
    void picture_of_window(const fs::path& png, const std::string& size = "1366x768");

  private:
    void seen();
    void xdo(const std::string& words);
    std::string display_;
    fs::path socket_;
    pid_t pid_ = -1;
    int probe_ = -1;
    std::string pending_;
};

}  // namespace canalogue::test
