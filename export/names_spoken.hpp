// Names, numbers and dates of the known list, spotted in sound by their sound. It ranks what a person must listen
// to and catches a slip; it misses names (short ones above all) and never clears anything.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"
#include "app/core/time.hpp"
#include "app/media/sound_reader.hpp"
#include "export/recogniser.hpp"

namespace canalogue::film {

struct NameSpoken {
    std::size_t name = 0;  // index into the listener's list
    Nanos start = 0;       // since the first sample
    Nanos end = 0;
    // A phrase of two to four words was heard ("missus marlow", both names, a date); without it a single name
    // was, which other words are easily taken for.
    bool surely = false;
};

// What is listened for on behalf of one known identifier. Words are lower case; digits are words.
struct SpokenForm {
    std::vector<std::string> words;
    bool surely = false;
};
std::vector<SpokenForm> spoken_forms(const std::string& identifier);

// Holds the recogniser; for one thread at a time. The names leave the process's memory at no time.
class NameListener {
  public:
    // Refuses an empty list of forms and a machine without the recogniser's model, in a sentence for people.
    static Result<NameListener> make(const std::vector<std::string>& identifiers);
    NameListener(NameListener&&) noexcept;
    NameListener& operator=(NameListener&&) noexcept;
    ~NameListener();

    // In order of time; one hit per name and moment. Cancelled when asked.
    Result<std::vector<NameSpoken>> hear(const std::vector<std::int16_t>& sound, const Progress& progress);

  private:
    struct State;
    explicit NameListener(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

// The same in a stretch of a file's sound, a minute at a time; times are the file's.
Result<std::vector<NameSpoken>> names_spoken(NameListener& listener, media::SoundReader& sound, RecordingSpan span, const Progress& progress);

}  // namespace canalogue::film
