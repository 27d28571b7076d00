#include "export/message_rate.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "app/core/time.hpp"
#include "export/encoder.hpp"

namespace canalogue::film {

namespace {

// Bytes of the container: a head, and so much for each picture and each piece of sound (measured on films of this program).
constexpr double kHead = 4000, kEachPicture = 14, kEachSound = 9, kSoundsEachSecond = 50;
constexpr double kAim = 0.97, kLeastUsed = 0.85;
constexpr int kMostTries = 5;

}  // namespace

MessageRate::MessageRate(const FilmSettings& film, Nanos length, bool with_sound)
    : limit_(static_cast<std::uintmax_t>(film.megabytes * 1e6)), quality_bound_(film.format == FilmFormat::webm), seconds_(std::max(0.04, static_cast<double>(length) / kSecond)) {
    const Quality q = quality_of(FilmTarget::message);
    const double sound = with_sound ? static_cast<double>(film.format == FilmFormat::webm ? q.opus : q.aac) / 8 + kEachSound * kSoundsEachSecond : 0;
    beside_ = kHead + seconds_ * (sound + kEachPicture * film.frames_per_second);
    rate_ = static_cast<std::int64_t>((static_cast<double>(limit_) * kAim - beside_) * 8 / seconds_);
}

Result<void> MessageRate::possible() const {
    if (rate_ >= kLeast) return {};
    const double needed = std::ceil((kLeast / 8.0 * seconds_ + beside_) / kAim / 1e5) / 10;
    char words[256];
    std::snprintf(words, sizeof words, "A film of %s does not fit into %.1f megabytes: nothing could be made out in its picture. Allow at least %.1f megabytes, or make it shorter.",
                  format_clock(static_cast<Nanos>(seconds_ * kSecond)).c_str(), static_cast<double>(limit_) / 1e6, needed);
    return wrong_use(words);
}

Result<bool> MessageRate::judge(std::uintmax_t bytes) {
    ++tries_;
    const bool under = bytes <= limit_, much = static_cast<double>(bytes) >= kLeastUsed * static_cast<double>(limit_);
    if (under && (much || quality_bound_ || tries_ >= 3)) return true;
    if (tries_ >= kMostTries) {
        if (under) return true;
        return wrong_use("The film could not be brought under its megabytes: allow some more, or make it shorter.");
    }
    const double picture = std::max(1.0, static_cast<double>(bytes) - beside_), wanted = static_cast<double>(limit_) * (under ? 0.93 : kAim) - beside_;
    rate_ = std::max<std::int64_t>(kLeast / 4, static_cast<std::int64_t>(static_cast<double>(rate_) * std::min(2.0, wanted / picture)));
    return false;
}

}  // namespace canalogue::film
