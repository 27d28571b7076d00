#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <catch2/catch.hpp>
#include <thread>

#include "app/plugin_host/wire.hpp"

namespace canalogue::tests {

namespace {

using namespace std::chrono_literals;
using wire::Clock;
using wire::Outcome;

struct Ends {
    Ends() { REQUIRE(::socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK, 0, fd) == 0); }
    ~Ends() {
        ::close(fd[0]);
        ::close(fd[1]);
    }
    Ends(const Ends&) = delete;
    Ends& operator=(const Ends&) = delete;
    int fd[2];
};

}  // namespace

TEST_CASE("A message larger than the socket's buffer arrives whole", "[plugin_host]") {
    Ends ends;
    std::vector<std::uint8_t> body(3 << 20);
    for (std::size_t i = 0; i < body.size(); ++i) body[i] = static_cast<std::uint8_t>(i * 31);
    Outcome sent = Outcome::late;  // looked at when the thread has ended: checks belong to one thread
    std::thread sender([&] { sent = wire::send(ends.fd[0], wire::Kind::done, body, Clock::now() + 5s); });
    wire::Message message;
    CHECK(wire::receive(ends.fd[1], message, Clock::now() + 5s) == Outcome::ok);
    sender.join();
    CHECK(sent == Outcome::ok);
    CHECK(message.kind == wire::Kind::done);
    CHECK(message.body == body);
}

TEST_CASE("An end that dribbles bytes does not stretch the deadline", "[plugin_host]") {
    Ends ends;
    const std::uint32_t header[2] = {1'000'000, 100};
    REQUIRE(::write(ends.fd[0], header, sizeof header) == sizeof header);
    std::atomic<bool> enough = false;
    std::thread dribble([&] {
        while (!enough) {
            (void)!::write(ends.fd[0], "x", 1);
            std::this_thread::sleep_for(5ms);
        }
    });
    wire::Message message;
    const auto before = Clock::now();
    CHECK(wire::receive(ends.fd[1], message, before + 200ms) == Outcome::late);
    CHECK(Clock::now() - before < 1s);
    enough = true;
    dribble.join();
}

TEST_CASE("A message that claims to be gigabytes is refused before memory is taken", "[plugin_host]") {
    Ends ends;
    const std::uint32_t header[2] = {0xFFFF'FFF0, 100};
    REQUIRE(::write(ends.fd[0], header, sizeof header) == sizeof header);
    wire::Message message;
    CHECK(wire::receive(ends.fd[1], message, Clock::now() + 1s) == Outcome::nonsense);
    CHECK(message.body.capacity() == 0);
}

TEST_CASE("Reading past the end of a message gives nothing and says so", "[plugin_host]") {
    wire::Writer out;
    const auto body =
        out.put<std::uint32_t>(500).put<std::uint8_t>(1).take();  // a text of 500 bytes, one there
    wire::Reader in(body);
    CHECK(in.text().empty());
    CHECK_FALSE(in.sound());
    CHECK(in.number<std::int64_t>() == 0);
}

}  // namespace canalogue::tests
