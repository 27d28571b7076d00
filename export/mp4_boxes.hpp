// Reads the box tree of an MP4 or MOV file (ISO/IEC 14496-12) and lists what in it could leak.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "app/core/result.hpp"

namespace canalogue::film {

struct BoxFinding {
    std::string what;   // "a date is set in mvhd"
    std::string where;  // "moov/mvhd, byte 40"
};

// True when the file begins like an MP4 or MOV.
bool is_mp4(const std::filesystem::path& file);

// Walks the tree with an allow-list of box types. Looks for: unknown boxes, dates other than zero,
// handler names other than neutral ones, user data other than our chapter list, edit lists that hide
// pictures, bytes of mdat that no sample uses, free space with content, bytes after the last box.
Result<std::vector<BoxFinding>> walk_boxes(const std::filesystem::path& file);

}  // namespace canalogue::film
