#include "export/folder.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <fstream>
#include <vector>

namespace canalogue::film {

namespace fs = std::filesystem;

namespace {

bool flush(const fs::path& path, bool folder) {
    const int fd = ::open(path.c_str(), (folder ? O_DIRECTORY : 0) | O_RDONLY | O_CLOEXEC);
    if (fd < 0) return false;
    const bool done = ::fsync(fd) == 0;
    ::close(fd);
    return done;
}

bool flush_tree(const fs::path& root) {
    bool done = true;
    for (const auto& entry : fs::recursive_directory_iterator(root)) done = flush(entry.path(), entry.is_directory()) && done;
    return flush(root, true) && done;
}

// A manifest alone proves nothing: web sites have one, too.
bool is_export(const fs::path& folder) {
    std::ifstream in(folder / "manifest.json", std::ios::binary);
    std::string head(4096, '\0');
    in.read(head.data(), static_cast<std::streamsize>(head.size()));
    return head.find("\"canalogue_manifest\"") != std::string::npos;
}

// Whoever fills a work folder holds a lock on it; the lock goes with the process, however that ends.
int locked(const fs::path& folder) {
    const int fd = ::open(folder.c_str(), O_DIRECTORY | O_RDONLY | O_CLOEXEC);
    if (fd >= 0 && ::flock(fd, LOCK_EX | LOCK_NB) == 0) return fd;
    if (fd >= 0) ::close(fd);
    return -1;
}

// What a killed render left beside this destination goes: nobody holds it any more.
void sweep(const fs::path& parent, const std::string& prefix) {
    std::error_code ec;
    std::vector<fs::path> left;
    for (const auto& entry : fs::directory_iterator(parent, ec))
        if (entry.path().filename().string().starts_with(prefix) && entry.is_directory(ec)) left.push_back(entry.path());
    for (const auto& folder : left)
        if (const int fd = locked(folder); fd >= 0) {
            fs::remove_all(folder, ec);
            ::close(fd);
        }
}

const Failure kCannotWrite = machine_trouble("The export cannot be written: check the folder given with --out, its permissions and the free space. Nothing was left behind.");

const Failure kTakenMeanwhile = wrong_use("Another export took the place given with --out while this one was made: name another folder and render again. Nothing was left behind.");

}  // namespace

Result<ExportFolder> ExportFolder::begin(const fs::path& destination, bool replace) {
    if (destination.empty()) return wrong_use("Where to? --out names the folder of the export.");
    std::error_code ec;
    fs::path target = fs::absolute(destination, ec).lexically_normal();
    if (!target.has_filename()) target = target.parent_path();
    if (fs::exists(target, ec)) {
        const bool empty = fs::is_directory(target, ec) && fs::is_empty(target, ec);
        const bool ours = is_export(target);
        if (!empty && !(replace && ours))
            return wrong_use(ours ? "There is an export at the place given with --out already: name another folder, or add --replace."
                                  : "The folder given with --out holds other things: name a new one.");
    }
    fs::create_directories(target.parent_path(), ec);
    const std::string prefix = "." + target.filename().string() + ".part-";
    sweep(target.parent_path(), prefix);
    const fs::path work = target.parent_path() / (prefix + std::to_string(::getpid()));
    if (!fs::create_directory(work, ec)) return kCannotWrite;
    return ExportFolder(work, target, replace, locked(work));
}

ExportFolder::ExportFolder(ExportFolder&& other) noexcept
    : work_(std::exchange(other.work_, {})), destination_(std::move(other.destination_)), replace_(other.replace_), lock_(std::exchange(other.lock_, -1)) {}

ExportFolder::~ExportFolder() {
    std::error_code ec;
    if (!work_.empty()) fs::remove_all(work_, ec);
    if (lock_ >= 0) ::close(lock_);
}

Result<void> ExportFolder::keep() { return keep_at(destination_); }

Result<void> ExportFolder::keep_at(const fs::path& place) {
    if (!flush_tree(work_)) return kCannotWrite;
    std::error_code ec;
    fs::path old;
    if (fs::exists(place, ec)) {
        if (!replace_ && !fs::is_empty(place, ec)) return kTakenMeanwhile;
        if (fs::is_empty(place, ec)) fs::remove(place, ec);
        else if (replace_) {
            old = work_.string() + "-old";
            fs::rename(place, old, ec);
            if (ec) return kCannotWrite;
        }
    }
    fs::rename(work_, place, ec);
    if (ec) {
        if (!old.empty()) fs::rename(old, place, ec);
        return kCannotWrite;
    }
    work_.clear();
    flush(place.parent_path(), true);
    if (!old.empty()) fs::remove_all(old, ec);
    return {};
}

Result<void> write_text(const fs::path& file, const std::string& text) {
    std::ofstream out(file, std::ios::binary);
    out.write(text.data(), static_cast<std::streamsize>(text.size()));
    if (!out.flush()) return kCannotWrite;
    return {};
}

Result<fs::path> replace_text(const fs::path& file, const std::string& text) {
    std::error_code ec;
    const fs::path parent = fs::absolute(file, ec).parent_path();
    if (file.empty() || !fs::is_directory(parent, ec) || fs::is_directory(file, ec)) return wrong_use("The file cannot be written there: name a file in a folder that exists.");
    fs::path earlier;
    if (fs::exists(file, ec)) {
        std::ifstream in(file, std::ios::binary);
        if (std::string((std::istreambuf_iterator<char>(in)), {}) == text) return earlier;
        for (int n = 1; earlier.empty() || fs::exists(earlier, ec); ++n)
            earlier = file.parent_path() / (file.stem().string() + ".before-" + std::to_string(n) + file.extension().string());
    }
    const fs::path part = parent / ("." + file.filename().string() + ".part");
    if (auto ok = write_text(part, text); !ok || !flush(part, false)) {
        fs::remove(part, ec);
        return machine_trouble("The file cannot be written: check the folder's permissions and the free space. What was there stays.");
    }
    if (!earlier.empty()) fs::rename(file, earlier, ec);
    if (!ec) fs::rename(part, file, ec);
    if (ec) return machine_trouble("The file cannot be written: check the folder's permissions and the free space.");
    return earlier;
}

}  // namespace canalogue::film
