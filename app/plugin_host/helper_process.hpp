// One helper process: its own process group, no descriptor of the program's but the two it is given
// (wire.hpp), nothing on standard output or error, no core dump, no writing of files, gone when the
// program is gone. Destroying the object kills it at once and reaps it. Used by one thread.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <memory>

#include "app/core/result.hpp"
#include "app/plugin_host/wire.hpp"

namespace canalogue {

class HelperProcess {
  public:
    // Starts `runner` with `library` as its argument. That it runs shows in its first answer.
    static Result<std::unique_ptr<HelperProcess>> start(const std::filesystem::path& runner,
                                                        const std::filesystem::path& library,
                                                        int frame_memory_fd);
    ~HelperProcess();
    HelperProcess(const HelperProcess&) = delete;
    HelperProcess& operator=(const HelperProcess&) = delete;

    // Sends one message and waits for its answer; anything but ok leaves the helper unusable.
    wire::Outcome ask(wire::Kind kind, const std::vector<std::uint8_t>& body, wire::Message& answer,
                      wire::Clock::time_point deadline);

    pid_t pid() const { return pid_; }

  private:
    HelperProcess(pid_t pid, int socket) : pid_(pid), socket_(socket) {}
    pid_t pid_;
    int socket_;
};

}  // namespace canalogue
