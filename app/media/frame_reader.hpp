// Frames of a recording in order, and any frame exactly: what is reached by seeking is byte for byte
// what straight decoding gives. The file is only ever read.
// One reader belongs to one thread at a time.
#pragma once

#include <memory>
#include <optional>

#include "app/media/facts.hpp"
#include "app/media/frame_index.hpp"
#include "app/media/picture.hpp"

namespace canalogue::media {

class FrameReader {
  public:
    // Opens the file and decodes its first frame, which defines time zero. threads: 0 = one per processor.
    static Result<FrameReader> open(const std::filesystem::path& path, int threads = 0);

    FrameReader(FrameReader&&) noexcept;
    FrameReader& operator=(FrameReader&&) noexcept;
    ~FrameReader();

    const RecordingFacts& facts() const;

    // Needed by `at` and `seek`; the index must be of this very file.
    void use_index(std::shared_ptr<const FrameIndex> index);

    // The next frame in presentation order; nullopt at the end. Damaged packets are passed over.
    Result<std::optional<Picture>> next();

    // The next call of `next` gives the frame shown at t.
    Result<void> seek(RecordingTime t);

    // The frame shown at t, or the i-th frame.
    Result<Picture> at(RecordingTime t);
    Result<Picture> frame(std::size_t i);

  private:
    struct State;
    explicit FrameReader(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

}  // namespace canalogue::media
