// What the moody spotter does, by the value of the first byte of a picture.
#pragma once

#include <cstdint>

namespace canalogue::tests {

enum class Mood : std::uint8_t {
    good,  // proposes one text a frame
    crash,
    hang,
    give_up,
    chatter,  // writes to standard output and error
    hang_at_end,
    crash_at_end,
    countless,
    // one proposal each that no sound spotter could have meant
    first_nonsense = 20,
    nan_box = first_nonsense,
    box_outside,
    empty_box,
    huge_box,
    end_before_start,
    after_the_recording,
    nan_sureness,
    oversure,
    unknown_kind,
    no_place,
    backwards,
    endless_words,
    not_utf8,
    crowded_track,
    last_nonsense = crowded_track,
};

}  // namespace canalogue::tests
