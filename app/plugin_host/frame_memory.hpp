// The memory that carries one picture, or one block of sound, from the program to a plugin helper. It
// has no name in any file system and is gone with the last process that holds it. Move only; used by
// one thread.
#pragma once

#include <cstddef>
#include <cstdint>

#include "app/core/result.hpp"

namespace canalogue {

class FrameMemory {
  public:
    static Result<FrameMemory> make();
    FrameMemory(FrameMemory&& other) noexcept;
    FrameMemory& operator=(FrameMemory&& other) noexcept;
    ~FrameMemory();

    // Room for at least this many bytes from now on. Never shrinks: the helper cannot be left with
    // less than it was told, and cannot shrink the memory under the program.
    Result<void> hold(std::size_t bytes);

    std::uint8_t* bytes() { return bytes_; }
    std::size_t size() const { return size_; }
    // For reading only: what the helper is given.
    int reading_fd() const { return reading_fd_; }

  private:
    FrameMemory() = default;
    int fd_ = -1;
    int reading_fd_ = -1;
    std::uint8_t* bytes_ = nullptr;
    std::size_t size_ = 0;
};

}  // namespace canalogue
