#include "export/folder.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <fstream>

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

const Failure kCannotWrite = machine_trouble("The export cannot be written: check the folder given with --out, its permissions and the free space. Nothing was left behind.");

}  // namespace

Result<ExportFolder> ExportFolder::begin(const fs::path& destination, bool replace) {
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
    const fs::path work = target.parent_path() / ("." + target.filename().string() + ".part-" + std::to_string(::getpid()));
    fs::remove_all(work, ec);
    if (!fs::create_directory(work, ec)) return kCannotWrite;
    return ExportFolder(work, target, replace);
}

ExportFolder::ExportFolder(ExportFolder&& other) noexcept
    : work_(std::exchange(other.work_, {})), destination_(std::move(other.destination_)), replace_(other.replace_) {}

ExportFolder::~ExportFolder() {
    std::error_code ec;
    if (!work_.empty()) fs::remove_all(work_, ec);
}

Result<void> ExportFolder::keep() { return keep_at(destination_); }

Result<void> ExportFolder::keep_at(const fs::path& place) {
    if (!flush_tree(work_)) return kCannotWrite;
    std::error_code ec;
    fs::path old;
    if (fs::exists(place, ec)) {
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

}  // namespace canalogue::film
