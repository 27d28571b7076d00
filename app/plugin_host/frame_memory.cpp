#include "app/plugin_host/frame_memory.hpp"

#include <fcntl.h>
#include <sys/mman.h>
#include <unistd.h>

#include <string>
#include <utility>

namespace canalogue {

namespace {
Failure no_memory() {
    return machine_trouble(
        "There is no shared memory left for a plugin's pictures; close other programs "
        "and try again.");
}
}  // namespace

Result<FrameMemory> FrameMemory::make() {
    FrameMemory memory;
    memory.fd_ = ::memfd_create("canalogue-frame", MFD_CLOEXEC | MFD_ALLOW_SEALING);
    if (memory.fd_ < 0) return no_memory();
    if (::fcntl(memory.fd_, F_ADD_SEALS, F_SEAL_SHRINK | F_SEAL_SEAL) != 0) return no_memory();
    // A second opening, so that the helper's end is read only.
    memory.reading_fd_ =
        ::open(("/proc/self/fd/" + std::to_string(memory.fd_)).c_str(), O_RDONLY | O_CLOEXEC);
    if (memory.reading_fd_ < 0) return no_memory();
    return memory;
}

FrameMemory::FrameMemory(FrameMemory&& other) noexcept { *this = std::move(other); }

FrameMemory& FrameMemory::operator=(FrameMemory&& other) noexcept {
    std::swap(fd_, other.fd_);
    std::swap(reading_fd_, other.reading_fd_);
    std::swap(bytes_, other.bytes_);
    std::swap(size_, other.size_);
    return *this;
}

FrameMemory::~FrameMemory() {
    if (bytes_) ::munmap(bytes_, size_);
    if (reading_fd_ >= 0) ::close(reading_fd_);
    if (fd_ >= 0) ::close(fd_);
}

Result<void> FrameMemory::hold(std::size_t bytes) {
    if (bytes <= size_) return {};
    if (::ftruncate(fd_, static_cast<off_t>(bytes)) != 0) return no_memory();
    void* mapped = ::mmap(nullptr, bytes, PROT_READ | PROT_WRITE, MAP_SHARED, fd_, 0);
    if (mapped == MAP_FAILED) return no_memory();
    if (bytes_) ::munmap(bytes_, size_);
    bytes_ = static_cast<std::uint8_t*>(mapped);
    size_ = bytes;
    return {};
}

}  // namespace canalogue
