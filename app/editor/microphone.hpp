// What the microphone hears, as 48 kHz mono. Window's thread; the samples come on PortAudio's own.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "app/core/time.hpp"

namespace canalogue::editor {

class Microphone {
  public:
    Microphone();
    ~Microphone();

    // Opens the device and listens, keeping nothing yet. A sentence when there is none.
    std::string open();
    void close();
    bool listening() const { return stream_ != nullptr; }

    // From now on what is heard is kept, at most so long.
    void keep(Nanos at_most);
    Nanos kept() const;
    // What was kept; keeps nothing more.
    std::vector<std::int16_t> taken();

    // The loudest of late, 0..1 of full scale; falls slowly, for a meter.
    float level() const;

  private:
    struct Stream;
    std::unique_ptr<Stream> stream_;
};

}  // namespace canalogue::editor
