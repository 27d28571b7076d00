#include "tests/support/media_files.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <cstdio>
#include <fstream>
#include <stdexcept>

namespace canalogue::test {

TempFolder::TempFolder() {
    static std::atomic<int> count{0};
    path_ = fs::temp_directory_path() /
            ("canalogue-test-" + std::to_string(getpid()) + "-" + std::to_string(count++));
    fs::create_directories(path_);
}

TempFolder::~TempFolder() {
    std::error_code ec;
    fs::remove_all(path_, ec);
}

Ran try_run(const std::string& command) {
    Ran ran;
    FILE* pipe = popen(("{ " + command + " ; } 2>&1").c_str(), "r");
    if (!pipe) throw std::runtime_error("cannot start a shell");
    char block[4096];
    while (const std::size_t got = fread(block, 1, sizeof block, pipe)) ran.out.append(block, got);
    const int status = pclose(pipe);
    ran.code = WIFEXITED(status) ? WEXITSTATUS(status) : 128;
    return ran;
}

std::string run(const std::string& command) {
    Ran ran = try_run(command);
    if (ran.code != 0) throw std::runtime_error(command + "\n" + ran.out);
    return ran.out;
}

fs::path make_media(const fs::path& file, const std::string& ffmpeg_args) {
    run("ffmpeg -nostdin -v error -y " + ffmpeg_args + " '" + file.string() + "'");
    return file;
}

std::string read_file(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

void write_file(const fs::path& file, const std::string& bytes) {
    std::ofstream(file, std::ios::binary) << bytes;
}

}  // namespace canalogue::test
