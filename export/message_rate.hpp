// How many bits a second the picture of a message may have, so that the film with its sound and container stays
// within its megabytes and uses most of them. Internal to export/.
#pragma once

#include <cstdint>

#include "app/core/plan.hpp"
#include "app/core/result.hpp"

namespace canalogue::film {

class MessageRate {
  public:
    MessageRate(const FilmSettings& film, Nanos length, bool with_sound);

    // Below this the picture of a scope falls to pieces (from memory); it is not made smaller instead, since the words
    // in it would not be read any more.
    static constexpr std::int64_t kLeast = 100'000;

    // Refuses a film that is too long for its megabytes, and says what would do.
    Result<void> possible() const;

    std::uintmax_t limit() const { return limit_; }  // bytes of the whole film
    std::int64_t bits_per_second() const { return rate_; }

    // The second pass made a film of so many bytes: true when that will do, false when it is to be made again at a
    // new rate. A failure when it cannot be brought under the limit.
    Result<bool> judge(std::uintmax_t bytes);

  private:
    std::uintmax_t limit_;
    bool quality_bound_;  // the encoder stops at a quality: a film below the limit may have all it asks for
    double seconds_, beside_;  // beside the picture, in bytes
    std::int64_t rate_ = 0;
    int tries_ = 0;
};

}  // namespace canalogue::film
