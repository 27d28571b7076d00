// ALSA and JACK talk on standard error when no device is there; that is no news for a person.
#pragma once

#include <fcntl.h>
#include <unistd.h>

namespace canalogue::editor {

// Standard error is closed to everybody while one is alive. Window's thread.
class Hush {
  public:
    Hush() : kept_(::dup(2)) {
        const int null = ::open("/dev/null", O_WRONLY | O_CLOEXEC);
        if (null >= 0) ::dup2(null, 2), ::close(null);
    }
    ~Hush() {
        if (kept_ >= 0) ::dup2(kept_, 2), ::close(kept_);
    }
    Hush(const Hush&) = delete;
    Hush& operator=(const Hush&) = delete;

  private:
    int kept_;
};

}  // namespace canalogue::editor
