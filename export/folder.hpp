// An export folder appears whole or not at all: it is filled under another name beside its
// destination, flushed to disk, and renamed at the end. What a killed render left there is swept away
// by the next one to the same destination.
#pragma once

#include <filesystem>
#include <string>

#include "app/core/result.hpp"

namespace canalogue::film {

class ExportFolder {
  public:
    // Refuses a destination that holds something, unless `replace` and it is an earlier export.
    static Result<ExportFolder> begin(const std::filesystem::path& destination, bool replace);

    ExportFolder(ExportFolder&& other) noexcept;
    ExportFolder& operator=(ExportFolder&&) = delete;
    // Unless it was kept, nothing of it is left.
    ~ExportFolder();

    const std::filesystem::path& path() const { return work_; }
    std::filesystem::path operator/(const std::string& name) const { return work_ / name; }

    // Flushes and renames to the destination, or to another place (a held export).
    Result<void> keep();
    Result<void> keep_at(const std::filesystem::path& place);

  private:
    ExportFolder(std::filesystem::path work, std::filesystem::path destination, bool replace, int lock)
        : work_(std::move(work)), destination_(std::move(destination)), replace_(replace), lock_(lock) {}
    std::filesystem::path work_, destination_;
    bool replace_ = false;
    int lock_ = -1;  // a descriptor of the work folder
};

Result<void> write_text(const std::filesystem::path& file, const std::string& text);

// Writes a file that a person may have edited since: other words that stood there are kept under a
// numbered name beside it, which is returned (empty when there was nothing to keep). Whole or not at all.
Result<std::filesystem::path> replace_text(const std::filesystem::path& file, const std::string& text);

}  // namespace canalogue::film
