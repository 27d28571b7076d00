#include "app/store/library_key.hpp"

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

}  // namespace canalogue::store
