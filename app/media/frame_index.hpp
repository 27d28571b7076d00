// When every frame of a recording is presented, and from which keyframe it can be reached.
// Built by reading the file's packets once (or, for files whose packets do not say when their
// pictures are shown, by decoding it once). Immutable afterwards; safe to share between threads.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <vector>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"
#include "app/core/time.hpp"

namespace canalogue::media {

class FrameIndex {
  public:
    struct Entry {
        std::int64_t pts = 0;  // stream ticks; what the decoder labels the frame with
        std::int64_t dts = 0;  // of the packet; meaningful where `key` is set
        bool key = false;
        bool operator==(const Entry&) const = default;
    };

    // Cancelled when progress says so.
    static Result<FrameIndex> build(const std::filesystem::path& file, const Progress& progress);

    // A cache file: refuses (nullopt) anything that is not a whole index written by this version.
    static std::optional<FrameIndex> load(const std::filesystem::path& cache);
    Result<void> save(const std::filesystem::path& cache) const;

    std::size_t size() const { return entries_.size(); }
    const Entry& operator[](std::size_t i) const { return entries_[i]; }
    RecordingTime time(std::size_t i) const { return times_[i]; }
    RecordingTime end() const { return end_; }       // when the last frame ceases to be shown
    RecordingSpan span() const { return {{0}, end_}; }

    // The frame shown at t: the last one that has begun. Before the first it is the first.
    std::size_t at(RecordingTime t) const;
    // When it is shown: from its beginning to the next one's.
    RecordingSpan shown(std::size_t i) const;
    // When the frames are shown of which `part` holds some moment: what is cut at its ends shows none of them any more.
    RecordingSpan shown_within(RecordingSpan part) const;
    // The keyframe from which frame i is decoded; 0 when there is none before it.
    std::size_t key_before(std::size_t i) const;
    // Which frame has this label; nullopt when none has.
    std::optional<std::size_t> with_pts(std::int64_t pts) const;
    std::optional<std::size_t> key_with_dts(std::int64_t dts) const;

    // True when packets carry no trustworthy presentation times: frames are then counted from a
    // keyframe instead of being recognised by their label.
    bool by_count() const { return by_count_; }

    // How much of the declared length could not be read, e.g. of a file that was cut off.
    Nanos lost() const { return lost_; }

  private:
    friend class IndexBuilder;
    void finish();
    bool with_pts_raw(std::int64_t pts) const;

    std::vector<Entry> entries_;  // by presentation
    std::vector<RecordingTime> times_;
    std::int32_t base_num_ = 1, base_den_ = 1;
    std::int64_t last_duration_ = 0;  // ticks
    RecordingTime end_;
    Nanos lost_ = 0;
    bool by_count_ = false;
};

}  // namespace canalogue::media
