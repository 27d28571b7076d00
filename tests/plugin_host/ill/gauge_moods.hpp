// What the moody gauge does, by the value of the first byte of a picture.
#pragma once

#include <cstdint>

namespace canalogue::tests {

enum class GaugeMood : std::uint8_t {
    good,         // the last byte of the last picture; the loudest sample
    one_channel,  // leaves the second channel out
    crash,
    hang,
    give_up,
    // answers that no sound gauge could have meant
    first_nonsense = 20,
    too_few = first_nonsense,
    too_many,
    countless,
    above_one,
    below_zero,
    infinite,
    unknown_channel,
    twice,
    no_end_of_channels,
    last_nonsense = no_end_of_channels,
};

}  // namespace canalogue::tests
