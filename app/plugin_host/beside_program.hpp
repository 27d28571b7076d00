// Where the running program lies, for what is found beside it.
#pragma once

#include <filesystem>

namespace canalogue {

// The folder of the running executable; empty when the system does not tell.
inline std::filesystem::path program_folder() {
    std::error_code ignored;
    return std::filesystem::read_symlink("/proc/self/exe", ignored).parent_path();
}

}  // namespace canalogue
