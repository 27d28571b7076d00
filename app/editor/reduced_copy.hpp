// A small copy of a recording in which every frame stands by itself, so that any of them is there at
// once while a hand scrubs. It lies in a nameless file that is gone with the object, however the
// program ends: nothing identifying is left on the disk. Made on any thread, then read by any.
#pragma once

#include <filesystem>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include "app/media/frame_reader.hpp"

namespace canalogue::editor {

class ReducedCopy {
  public:
    // Whether scrubbing this recording needs one: its keyframes lie far apart.
    static bool worth_it(const media::FrameIndex& index);

    // `folder`: where the nameless file is made. Cancelled when asked.
    static Result<std::shared_ptr<ReducedCopy>> make(const std::filesystem::path& recording, std::shared_ptr<const media::FrameIndex> index, const std::filesystem::path& folder,
                                                     const Progress& progress);
    ~ReducedCopy();
    ReducedCopy(const ReducedCopy&) = delete;
    ReducedCopy& operator=(const ReducedCopy&) = delete;

    // Frame i, in stored orientation, smaller; none where it could not be copied.
    std::optional<media::Picture> frame(std::size_t i);

  private:
    ReducedCopy() = default;
    struct Place {
        std::int64_t at = 0;
        int size = 0;  // 0: not there
    };
    int file_ = -1;
    std::vector<Place> places_;
    std::mutex mutex_;  // guards the decoder
    media::CodecPtr decoder_;
};

}  // namespace canalogue::editor
