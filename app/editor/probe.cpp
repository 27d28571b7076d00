#include "app/editor/probe.hpp"

#include <GLFW/glfw3.h>
#include <fcntl.h>
#include <poll.h>
#include <sys/eventfd.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <nlohmann/json.hpp>

namespace canalogue::editor {

using nlohmann::json;

Probe& probe() {
    static Probe the;
    return the;
}

Probe::~Probe() { close(); }

void Probe::close() {
    if (watcher_.joinable()) {
        const std::uint64_t one = 1;
        (void)!::write(closing_, &one, sizeof one);
        woken_ = false;
        woken_.notify_all();
        watcher_.join();
        ::close(closing_);
    }
    if (client_ >= 0) ::close(client_);
    if (server_ >= 0) ::close(server_), ::unlink(path_.c_str());
    client_ = server_ = -1;
}

// A question, or somebody who comes or goes, wakes the window once; it is watched on after the answer.
void Probe::watch() {
    for (;;) {
        pollfd fds[] = {{closing_, POLLIN, 0}, {client_ >= 0 ? client_.load() : server_, POLLIN, 0}};
        if (::poll(fds, 2, -1) < 0 && errno != EINTR) return;
        if (fds[0].revents) return;
        if (!fds[1].revents) continue;
        woken_ = true;
        glfwPostEmptyEvent();
        woken_.wait(true);
    }
}

bool Probe::listen(const std::string& socket) {
    sockaddr_un address{};
    if (socket.size() >= sizeof address.sun_path) return false;
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path, socket.c_str(), socket.size() + 1);
    ::unlink(socket.c_str());
    server_ = ::socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    path_ = socket;
    if (server_ < 0 || ::bind(server_, reinterpret_cast<sockaddr*>(&address), sizeof address) != 0 || ::listen(server_, 1) != 0) return false;
    closing_ = ::eventfd(0, EFD_CLOEXEC);
    if (closing_ < 0) return false;
    watcher_ = std::thread([this] { watch(); });
    return true;
}

void Probe::mark(const std::string& name, float x, float y, float w, float h, const std::string& state) {
    if (server_ >= 0) building_[name] = {x, y, w, h, state};
}

void Probe::end_frame(bool idle) {
    shown_.swap(building_);
    idle_ = idle;
    ++frames_;
}

std::string Probe::reply(const std::string& line) {
    if (line == "all") return wants_all_ = true, json{{"frames", frames_}}.dump();
    if (line == "idle") return json{{"idle", idle_}}.dump();
    if (line == "frames") return json{{"frames", frames_}}.dump();
    if (line == "list") {
        json names = json::array();
        for (const auto& [name, place] : shown_) names.push_back(name);
        return names.dump();
    }
    if (line.starts_with("find ")) {
        const auto it = shown_.find(line.substr(5));
        if (it == shown_.end()) return json{{"missing", true}}.dump();
        const Place& p = it->second;
        return json{{"x", p.x}, {"y", p.y}, {"w", p.w}, {"h", p.h}, {"state", p.state}}.dump(-1, ' ', false, json::error_handler_t::replace);
    }
    return json{{"unknown", true}}.dump();
}

void Probe::answer() {
    if (server_ < 0) return;
    answer_all();
    woken_ = false;
    woken_.notify_all();
}

void Probe::answer_all() {
    if (client_ < 0) client_ = ::accept4(server_, nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC);
    if (client_ < 0) return;
    char bytes[512];
    const ssize_t n = ::recv(client_, bytes, sizeof bytes, 0);
    if (n == 0) {
        ::close(client_);
        client_ = -1;
        pending_.clear();
        return;
    }
    if (n > 0) pending_.append(bytes, static_cast<std::size_t>(n));
    for (auto end = pending_.find('\n'); end != std::string::npos; end = pending_.find('\n')) {
        const std::string out = reply(pending_.substr(0, end)) + "\n";
        pending_.erase(0, end + 1);
        (void)::send(client_, out.data(), out.size(), MSG_NOSIGNAL);
    }
}

}  // namespace canalogue::editor
