#include "app/plugin_host/wire.hpp"

#include <poll.h>
#include <sys/socket.h>

#include <algorithm>
#include <cerrno>

namespace canalogue::wire {

namespace {

struct Header {
    std::uint32_t size;
    std::uint32_t kind;
};

// Milliseconds until the deadline for poll: rounded up, so that it never spins; -1 for ever.
int patience(Clock::time_point deadline) {
    if (deadline == Clock::time_point::max()) return -1;
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(deadline - Clock::now()).count();
    return static_cast<int>(std::clamp<long>(left, 0, 3'600'000));
}

Outcome wait_for(int socket, short events, Clock::time_point deadline) {
    for (;;) {
        pollfd p{socket, events, 0};
        const int n = ::poll(&p, 1, patience(deadline));
        if (n > 0) return Outcome::ok;  // a closed end shows in the read or write that follows
        if (n == 0 && Clock::now() >= deadline) return Outcome::late;
        if (n < 0 && errno != EINTR) return Outcome::closed;
    }
}

// Moves `size` bytes with `step`, which is ::send or ::recv on what is left.
template <class Step>
Outcome move_all(int socket, short events, std::size_t size, Clock::time_point deadline, Step step) {
    for (std::size_t done = 0; done < size;) {
        const ssize_t n = step(done, size - done);
        if (n > 0) {
            done += static_cast<std::size_t>(n);
        } else if (n == 0 || (errno != EAGAIN && errno != EINTR)) {
            return Outcome::closed;
        } else if (const auto o = wait_for(socket, events, deadline); o != Outcome::ok) {
            return o;
        }
        // A trickle of bytes must not stretch the deadline.
        if (done < size && Clock::now() >= deadline) return Outcome::late;
    }
    return Outcome::ok;
}

Outcome send_all(int socket, const void* data, std::size_t size, Clock::time_point deadline) {
    return move_all(socket, POLLOUT, size, deadline, [&](std::size_t at, std::size_t left) {
        return ::send(socket, static_cast<const char*>(data) + at, left, MSG_NOSIGNAL);
    });
}

Outcome receive_all(int socket, void* data, std::size_t size, Clock::time_point deadline) {
    return move_all(socket, POLLIN, size, deadline, [&](std::size_t at, std::size_t left) {
        return ::recv(socket, static_cast<char*>(data) + at, left, 0);
    });
}

}  // namespace

Outcome send(int socket, Kind kind, const std::vector<std::uint8_t>& body, Clock::time_point deadline) {
    const Header header{static_cast<std::uint32_t>(body.size()), static_cast<std::uint32_t>(kind)};
    if (const auto o = send_all(socket, &header, sizeof header, deadline); o != Outcome::ok) return o;
    return send_all(socket, body.data(), body.size(), deadline);
}

Outcome receive(int socket, Message& out, Clock::time_point deadline) {
    Header header{};
    if (const auto o = receive_all(socket, &header, sizeof header, deadline); o != Outcome::ok) return o;
    if (header.size > kLongestMessage) return Outcome::nonsense;
    out.kind = static_cast<Kind>(header.kind);
    out.body.resize(header.size);
    return receive_all(socket, out.body.data(), out.body.size(), deadline);
}

}  // namespace canalogue::wire
