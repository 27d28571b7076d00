// The spoken lines of a film, kept on disk: an hour of speech needs no more memory than a sentence.
#pragma once

#include <filesystem>
#include <memory>
#include <vector>

#include "app/core/result.hpp"
#include "export/voice.hpp"

namespace canalogue::film {

// Written by one thread, then read by any.
class Narration {
  public:
    // Keeps the samples in a nameless file in `folder`, which goes when the object does, however the
    // process ends.
    static Result<Narration> in(const std::filesystem::path& folder);

    Narration(Narration&& other) noexcept;
    Narration& operator=(Narration&&) = delete;
    ~Narration();

    Result<void> add(const Spoken& line);

    std::size_t size() const { return lines_.size(); }
    Nanos length(std::size_t line) const { return lines_[line].length; }
    const std::vector<WordMark>& words(std::size_t line) const { return lines_[line].words; }

    // How many samples the line has at the film's sound rate (48 kHz, mono).
    std::int64_t samples(std::size_t line) const { return lines_[line].count; }
    // Samples [from, from + count) of it; fewer when the disk gives fewer.
    std::vector<std::int16_t> read(std::size_t line, std::int64_t from, std::int64_t count) const;

  private:
    struct Line {
        Nanos length = 0;
        std::vector<WordMark> words;
        std::int64_t first = 0, count = 0;  // in the file, in samples
    };
    explicit Narration(int file) : file_(file) {}
    int file_ = -1;
    std::int64_t written_ = 0;
    std::vector<Line> lines_;
};

}  // namespace canalogue::film
