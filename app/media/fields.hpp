// Every piece of text a container carries besides picture and sound, and its path's names.
#pragma once

#include <filesystem>
#include <vector>

#include "app/core/result.hpp"
#include "app/media/facts.hpp"

namespace canalogue::media {

// Container tags, stream tags, chapters, programs, attachments, extra streams, file and folder names.
// Values may identify a person: keep them in memory only, or sealed.
Result<std::vector<FileField>> fields_of(const std::filesystem::path& file);

}  // namespace canalogue::media
