// Media files for tests, made on the spot by the ffmpeg program: an independent writer.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace canalogue::test {

namespace fs = std::filesystem;

// A folder that is gone when the object is.
class TempFolder {
  public:
    TempFolder();
    ~TempFolder();
    TempFolder(const TempFolder&) = delete;
    TempFolder& operator=(const TempFolder&) = delete;
    const fs::path& path() const { return path_; }
    fs::path operator/(const std::string& name) const { return path_ / name; }

  private:
    fs::path path_;
};

// Runs a shell command; throws with its output when it fails. Returns what it printed.
std::string run(const std::string& command);
// The exit code as well, never throws.
struct Ran {
    int code = 0;
    std::string out;
};
Ran try_run(const std::string& command);

// "ffmpeg -v error -y ARGS file", quoted; returns the file.
fs::path make_media(const fs::path& file, const std::string& ffmpeg_args);

std::string read_file(const fs::path& file);
void write_file(const fs::path& file, const std::string& bytes);

}  // namespace canalogue::test
