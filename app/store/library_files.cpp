#include "app/store/library_files.hpp"

#include <sys/stat.h>
#include <sys/vfs.h>

#include <cerrno>
#include <fcntl.h>
#include <fstream>
#include <iterator>
#include <unistd.h>

namespace canalogue::store {

namespace fs = std::filesystem;

bool is_network_share(const fs::path& folder) {
    struct statfs info {};
    if (statfs(folder.c_str(), &info) != 0) return false;
    constexpr long kShares[] = {0x6969 /* NFS */, 0x517B /* SMB */, 0xFF534D42 /* CIFS */, 0xFE534D42 /* SMB2 */,
                                0x01021997 /* 9P */, 0x5346414F /* AFS */};
    for (long magic : kShares)
        if (static_cast<unsigned long>(info.f_type & 0xFFFFFFFF) == static_cast<unsigned long>(magic & 0xFFFFFFFF)) return true;
    return false;
}

Result<SealKey> library_key(const fs::path& folder, bool new_library) {
    const fs::path file = folder / "library.key";
    std::ifstream in(file, std::ios::binary);
    if (in) {
        const std::string bytes((std::istreambuf_iterator<char>(in)), {});
        if (auto key = SealKey::from_bytes(bytes)) return *key;
        return machine_trouble("The library's key file is damaged: restore library.key from a backup of the folder.");
    }
    std::error_code ec;
    if (fs::exists(file, ec))
        return machine_trouble("The library's key file cannot be read: check its permissions, or open the library from the account that owns it.");
    if (!new_library)
        return machine_trouble("The library's key file is missing: put library.key back into its folder from a backup.");
    const SealKey key = SealKey::fresh();
    const std::string bytes = key.bytes();
    const int fd = ::open(file.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    const bool written = fd >= 0 && ::write(fd, bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size()) && ::fsync(fd) == 0;
    if (fd >= 0) ::close(fd);
    // Another process made the library at the same moment: its key is the one.
    if (fd < 0 && errno == EEXIST) return library_key(folder, false);
    if (!written) return machine_trouble("The library's folder cannot be written: check its permissions and free space.");
    return key;
}

fs::path take_file(const fs::path& folder, const std::string& session, const std::string& id) {
    return folder / "takes" / (session + "." + id + ".sealed");
}

Result<void> write_whole(const fs::path& file, const std::string& bytes) {
    const fs::path part = file.string() + ".part";
    const int fd = ::open(part.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    std::size_t done = 0;
    while (fd >= 0 && done < bytes.size()) {
        const ssize_t n = ::write(fd, bytes.data() + done, bytes.size() - done);
        if (n <= 0) break;
        done += static_cast<std::size_t>(n);
    }
    const bool written = fd >= 0 && done == bytes.size() && ::fsync(fd) == 0;
    if (fd >= 0) ::close(fd);
    const int folder = ::open(file.parent_path().c_str(), O_DIRECTORY | O_RDONLY | O_CLOEXEC);
    const bool there = written && ::rename(part.c_str(), file.c_str()) == 0 && folder >= 0 && ::fsync(folder) == 0;
    if (folder >= 0) ::close(folder);
    if (there) return {};
    ::unlink(part.c_str());
    return machine_trouble("The library's folder cannot be written: check its permissions and free space.");
}

std::optional<std::string> read_whole(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    if (!in) return std::nullopt;
    return std::string((std::istreambuf_iterator<char>(in)), {});
}

}  // namespace canalogue::store
