// What the program and its plugin helper say to each other: messages of a length, a kind and a body
// over a socket pair, numbers in the machine's own order (both ends run on it). Knows nothing of
// spotters and gauges; used by both ends. The program trusts no byte that arrives: Reader never reads past the
// body, and a message longer than kLongestMessage is refused.
#pragma once

#include <chrono>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

namespace canalogue::wire {

// Raised when the talk changes, so that a runner left over from another build is refused.
inline constexpr std::uint32_t kTalkVersion = 3;
inline constexpr std::uint32_t kLongestMessage = 64u << 20;

// Where the helper finds its two ends after it was started.
inline constexpr int kSocketFd = 3;
inline constexpr int kFrameMemoryFd = 4;

enum class Kind : std::uint32_t {
    // program -> helper, each answered by exactly one done, failed or (hello only) refused
    hello = 1,        // talk version, models folder, id of the extension that is wanted
    begin_recording,  // width, height, duration
    span_begin,       // start, end
    frame,            // time, width, height, stride, bytes (the pixels are in the frame memory)
    span_end,
    fields,  // count, then name and value of each
    sound,   // time, count of samples (32-bit floats, which are in the frame memory)
    // helper -> program
    // hello: id, version, wants, samples per second, longest side, and of a gauge channels;
    // span_end and fields of a spotter: the proposals; span_end of a gauge: the measurements
    done = 100,
    failed,      // sentence
    refused,     // sentence: the plugin cannot work here
};

struct Message {
    Kind kind{};
    std::vector<std::uint8_t> body;
};

class Writer {
  public:
    template <class T>
    requires std::is_arithmetic_v<T> Writer& put(T value) {
        const auto* bytes = reinterpret_cast<const std::uint8_t*>(&value);
        body_.insert(body_.end(), bytes, bytes + sizeof value);
        return *this;
    }
    Writer& put(std::string_view text) {
        put(static_cast<std::uint32_t>(text.size()));
        body_.insert(body_.end(), text.begin(), text.end());
        return *this;
    }
    std::vector<std::uint8_t> take() { return std::move(body_); }

  private:
    std::vector<std::uint8_t> body_;
};

// After the first read past the end every further read gives zero or nothing, and sound() is false.
class Reader {
  public:
    explicit Reader(const std::vector<std::uint8_t>& body) : body_(body) {}

    template <class T>
    requires std::is_arithmetic_v<T> T number() {
        T value{};
        if (take(sizeof value)) std::memcpy(&value, body_.data() + at_ - sizeof value, sizeof value);
        return value;
    }
    std::string text() {
        const auto size = number<std::uint32_t>();
        if (!take(size)) return {};
        return {reinterpret_cast<const char*>(body_.data()) + at_ - size, size};
    }
    bool sound() const { return sound_; }
    bool at_end() const { return at_ == body_.size(); }

  private:
    bool take(std::size_t size) {
        sound_ = sound_ && size <= body_.size() - at_;
        if (sound_) at_ += size;
        return sound_;
    }
    const std::vector<std::uint8_t>& body_;
    std::size_t at_ = 0;
    bool sound_ = true;
};

using Clock = std::chrono::steady_clock;

enum class Outcome { ok, late, closed, nonsense };

// Both give up at `deadline`, whatever the other end does. A deadline of Clock::time_point::max() waits
// for ever. The socket must be non-blocking.
Outcome send(int socket, Kind kind, const std::vector<std::uint8_t>& body, Clock::time_point deadline);
Outcome receive(int socket, Message& out, Clock::time_point deadline);

}  // namespace canalogue::wire
