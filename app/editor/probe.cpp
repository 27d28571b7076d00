#include "app/editor/probe.hpp"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstring>
#include <nlohmann/json.hpp>

namespace canalogue::editor {

using nlohmann::json;

Probe& probe() {
    static Probe the;
    return the;
}

Probe::~Probe() {
    if (client_ >= 0) ::close(client_);
    if (server_ >= 0) ::close(server_), ::unlink(path_.c_str());
}

bool Probe::listen(const std::string& socket) {
    sockaddr_un address{};
    if (socket.size() >= sizeof address.sun_path) return false;
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path, socket.c_str(), socket.size() + 1);
    ::unlink(socket.c_str());
    server_ = ::socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    path_ = socket;
    return server_ >= 0 && ::bind(server_, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0 && ::listen(server_, 1) == 0;
}

void Probe::mark(const std::string& name, float x, float y, float w, float h, const std::string& state) {
    if (server_ >= 0) building_[name] = {x, y, w, h, state};
}

void Probe::end_frame(bool idle) {
    shown_.swap(building_);
    idle_ = idle;
}

std::string Probe::reply(const std::string& line) const {
    if (line == "idle") return json{{"idle", idle_}}.dump();
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
