// The one window: rail, picture, time map, desks. Window's thread is the program's main thread.
#pragma once

#include <imgui.h>

#include <cstdio>
#include <filesystem>
#include <string>

#include "app/editor/clip_desk.hpp"
#include "app/editor/library_desk.hpp"
#include "app/editor/picture_pane.hpp"
#include "app/editor/privacy_desk.hpp"
#include "app/editor/screen.hpp"
#include "app/editor/session_desk.hpp"
#include "app/editor/time_map.hpp"
#include "app/editor/welcome.hpp"
#include "app/editor/workplace.hpp"

struct GLFWwindow;

namespace canalogue::editor {

struct WindowOptions {
    std::string session;      // opened at once
    std::string probe;        // a socket for tests; empty: none
    std::string place;        // "1366x768": the window's size; empty: as the monitor has room
    double scale = 0;         // 0: the monitor's
    bool always_draw = false;         // never waits for events; for benchmarks
    // For benchmarks, one line a frame: milliseconds spent on it, then seconds: the steady clock's after it
    // was handed to the display, session time of the picture shown (-1: none), when it was due by the
    // steady clock, where the film stood then; and milliseconds that this thread was computing.
    std::filesystem::path frame_log;
};

class Window {
  public:
    Window(desk::Desk& desk, WindowOptions options);
    ~Window();
    // Returns when the window is closed. Fails when there is no display.
    Result<void> run();

  private:
    Result<void> make_window();
    void loop();
    void draw_frame();
    double rest_before_drawing(bool restless) const;
    void note_drawing_time();
    void write_log(FILE* log, double took, double computing) const;
    void draw_all();
    void draw_rail(ImVec2 size);
    void draw_transport(ImVec2 from, ImVec2 size);
    void draw_volume(ImVec2 from, float right);
    void play_or_stop();
    void set_volume(double volume, bool muted);
    void hear_volume();
    void draw_middle(ImVec2 from, ImVec2 size);
    void draw_panel(ImVec2 size);
    void draw_messages(ImVec2 from, ImVec2 size);
    void draw_keys();
    void handle_keys();
    void handle_arrows();
    void handle_typed();
    void handle_control_keys();
    void go_to(DeskName desk);
    void follow_session();
    void rescale();
    MapExtras extras();
    void read_traces();

    WindowOptions options_;
    GLFWwindow* window_ = nullptr;
    Screen screen_;
    Workplace w_;
    PicturePane pane_;
    TimeMap map_;
    SessionDesk session_desk_;
    PrivacyDesk privacy_desk_{pane_, map_};
    ClipDesk clip_desk_{pane_};
    LibraryDesk library_desk_;
    Welcome welcome_;
    bool keys_shown_ = false, scale_changed_ = true;
    double due_ = 0;         // the steady clock's seconds for which the picture was chosen
    double drawing_ = 0;     // seconds from choosing a picture to handing it to the display
    double factor_ = 1;      // the person's own, on top of the monitor's
    std::vector<Curve> curves_;
    std::string opened_;     // the session the desks have read
    std::string titled_;     // what the window's title says
    std::string last_news_;
    DeskName was_at_ = DeskName::session;
    int read_revision_ = -1;
};

}  // namespace canalogue::editor
