#include "tests/editor/real_window.hpp"

#include <fcntl.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstring>
#include <stdexcept>
#include <thread>

namespace canalogue::test {

namespace {

using Clock = std::chrono::steady_clock;

void rest(int milliseconds) { std::this_thread::sleep_for(std::chrono::milliseconds(milliseconds)); }

template <class Done>
void wait(double seconds, const std::string& what, Done done) {
    const auto end = Clock::now() + std::chrono::duration<double>(seconds);
    while (!done()) {
        if (Clock::now() > end) throw std::runtime_error("It did not happen in time: " + what);
        rest(25);
    }
}

}  // namespace

VirtualDisplay::VirtualDisplay(const std::string& size) {
    int ends[2];
    if (pipe(ends) != 0) throw std::runtime_error("no pipe");
    pid_ = fork();
    if (pid_ == 0) {
        close(ends[0]);
        const int null = open("/dev/null", O_RDWR);
        dup2(null, 0), dup2(null, 1), dup2(null, 2);
        const std::string fd = std::to_string(ends[1]), screen = size + "x24";
        execlp("Xvfb", "Xvfb", "-displayfd", fd.c_str(), "-screen", "0", screen.c_str(), "-nolisten", "tcp", static_cast<char*>(nullptr));
        _exit(127);
    }
    close(ends[1]);
    char c = 0;
    std::string number;
    while (read(ends[0], &c, 1) == 1 && c != '\n') number += c;
    close(ends[0]);
    if (number.empty()) throw std::runtime_error("Xvfb did not start: is the package xvfb installed?");
    name_ = ":" + number;
}

VirtualDisplay::~VirtualDisplay() {
    kill(pid_, SIGTERM);
    waitpid(pid_, nullptr, 0);
}

EditorWindow::EditorWindow(const VirtualDisplay& display, const fs::path& library, const std::string& more, const std::string& size)
    : display_(display.name()), socket_(library.string() + ".probe") {
    const std::string command = "exec env DISPLAY=" + display_ + " HOME='" + library.string() + "' PULSE_SERVER=\"${SOUND_FOR_WINDOWS:-none}\" '" CANALOGUE_EDITOR "' --library '" + library.string() + "' --probe '" + socket_.string() + "' --window " + size + " " + more;
    pid_ = fork();
    if (pid_ == 0) {
        const int log = open((library.string() + ".editor.log").c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600);
        dup2(log, 1), dup2(log, 2);
        execlp("sh", "sh", "-c", command.c_str(), static_cast<char*>(nullptr));
        _exit(127);
    }
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::strncpy(address.sun_path, socket_.c_str(), sizeof address.sun_path - 1);
    wait(30, "the editor's window opens", [&] {
        probe_ = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
        if (connect(probe_, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0) return true;
        ::close(probe_);
        return false;
    });
    wait(30, "the first frame is drawn", [&] { return !ask("list").empty(); });
}

EditorWindow::~EditorWindow() {
    if (pid_ > 0) kill(pid_, SIGKILL), waitpid(pid_, nullptr, 0);
    if (probe_ >= 0) ::close(probe_);
}

json EditorWindow::ask(const std::string& question) {
    const std::string line = question + "\n";
    if (send(probe_, line.data(), line.size(), MSG_NOSIGNAL) < 0) throw std::runtime_error("The editor is gone (" + question + ")");
    char block[65536];
    for (auto end = pending_.find('\n'); end == std::string::npos; end = pending_.find('\n')) {
        const ssize_t n = recv(probe_, block, sizeof block, 0);
        if (n <= 0) throw std::runtime_error("The editor is gone (" + question + ")");
        pending_.append(block, static_cast<std::size_t>(n));
    }
    const auto end = pending_.find('\n');
    const json answer = json::parse(pending_.substr(0, end));
    pending_.erase(0, end + 1);
    return answer;
}

std::string EditorWindow::state(const std::string& name) { return find(name).value("state", ""); }

json EditorWindow::wait_for(const std::string& name, double seconds) {
    json found;
    wait(seconds, "'" + name + "' appears", [&] { return !(found = find(name)).contains("missing"); });
    return found;
}

void EditorWindow::wait_state(const std::string& name, const std::string& wanted, double seconds) {
    wait(seconds, "'" + name + "' is '" + wanted + "'", [&] { return state(name) == wanted; });
}

void EditorWindow::wait_state_changed(const std::string& name, const std::string& old, double seconds) {
    wait(seconds, "'" + name + "' is no longer '" + old + "'", [&] { return there(name) && state(name) != old; });
}

void EditorWindow::wait_idle(double seconds) {
    wait(seconds, "the editor comes to rest", [&] { return ask("idle")["idle"] == true; });
}

void EditorWindow::xdo(const std::string& words) { run("DISPLAY=" + display_ + " xdotool " + words); }

// What comes between two frames is seen by the second, and what a button does by the one after that.
void EditorWindow::seen() {
    rest(40);
    for (int frame = 0; frame < 3; ++frame) ask("idle");
}

void EditorWindow::click_at(double x, double y) {
    xdo("mousemove " + std::to_string(static_cast<int>(x)) + " " + std::to_string(static_cast<int>(y)) + " sleep 0.08 click 1");
    seen();
}

void EditorWindow::click(const std::string& name) {
    const json at = wait_for(name);
    click_at(at["x"].get<double>() + at["w"].get<double>() / 2, at["y"].get<double>() + at["h"].get<double>() / 2);
}

void EditorWindow::drag(double x0, double y0, double x1, double y1) {
    const auto at = [](double x, double y) { return std::to_string(static_cast<int>(x)) + " " + std::to_string(static_cast<int>(y)); };
    xdo("mousemove " + at(x0, y0) + " sleep 0.2 mousedown 1 sleep 0.2 mousemove " + at((x0 + x1) / 2, (y0 + y1) / 2) + " sleep 0.2 mousemove " + at(x1, y1) + " sleep 0.25 mouseup 1");
    seen();
}

void EditorWindow::flick(double x0, double y0, double x1, double y1) {
    const auto at = [](double x, double y) { return std::to_string(static_cast<int>(x)) + " " + std::to_string(static_cast<int>(y)); };
    xdo("mousemove " + at(x0, y0) + " sleep 0.3 mousedown 1 mousemove " + at(x1, y1) + " sleep 0.3 mouseup 1 mousemove " + at(x0, y0));
    seen();
}

void EditorWindow::press_at(double x, double y) {
    move_to(x, y);
    xdo("mousedown 1");
    seen();
}

void EditorWindow::move_to(double x, double y) {
    xdo("mousemove " + std::to_string(static_cast<int>(x)) + " " + std::to_string(static_cast<int>(y)));
    seen();
}

void EditorWindow::release() {
    xdo("mouseup 1");
    seen();
}

void EditorWindow::key(const std::string& keys) {
    key_unseen(keys);
    seen();
}

void EditorWindow::key_unseen(const std::string& keys) { xdo("key " + keys); }

void EditorWindow::type(const std::string& text) {
    xdo("type --delay 12 '" + text + "'");
    seen();
}

// A field may get the keyboard late, and a short press of two keys may fall between two frames.
void EditorWindow::fill(const std::string& field, const std::string& text) {
    for (int attempt = 0; attempt < 4; ++attempt) {
        click(field);
        wait_state("keyboard", field, 5);
        xdo("keydown ctrl keydown a sleep 0.15 keyup a keyup ctrl");
        type(text);
        // What is secret is shown to nobody.
        const std::string shown = state(field);
        if (shown == text || shown.empty()) return;
    }
    throw std::runtime_error("The field '" + field + "' does not take what is typed: '" + state(field) + "'");
}

void EditorWindow::close() {
    kill(pid_, SIGTERM);
    waitpid(pid_, nullptr, 0);
    pid_ = -1;
}

void EditorWindow::kill9() {
    kill(pid_, SIGKILL);
    waitpid(pid_, nullptr, 0);
    pid_ = -1;
}

bool EditorWindow::running() { return pid_ > 0 && waitpid(pid_, nullptr, WNOHANG) == 0; }

void EditorWindow::picture_of_window(const fs::path& png, const std::string& size) {
    rest(250);
    run("ffmpeg -v error -y -f x11grab -video_size " + size + " -i " + display_ + ".0 -frames:v 1 '" + png.string() + "'");
}

}  // namespace canalogue::test
