// The speech recogniser (PocketSphinx with the model of Debian's pocketsphinx-en-us, American English): the program's only
// door to it. One recogniser is for one thread at a time.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "app/core/result.hpp"
#include "app/core/time.hpp"

struct ps_decoder_s;

namespace canalogue::film {

inline constexpr int kListenRate = 16'000;           // samples a second, mono, 16 bits
inline constexpr Nanos kListenFrame = 10 * kMillisecond;  // in which the recogniser tells places

class Recogniser {
  public:
    // `options`: names and values in turn, as PocketSphinx has them. Refuses, in a sentence, where the model is missing.
    static Result<Recogniser> start(const std::vector<std::string>& options);

    // How many phones a word (lower case) has; one that the dictionary does not have is added as the draft voice
    // would say it. 0: it cannot be said.
    int phones_of(const std::string& word);
    // Whether the dictionary itself has it; asked before phones_of.
    bool knows(const std::string& word);

    ps_decoder_s* ps() { return ps_.get(); }

    struct Piece {
        std::string words;  // as the search was given them; fillers in <> or ++
        int first = 0, last = 0;  // frames of kListenFrame
    };
    // One utterance, whole: its level is evened out by the mean of all of it, and soft voices are heard so. Empty
    // where the search found nothing.
    Result<std::vector<Piece>> hear(const std::int16_t* sound, std::size_t count);

  private:
    struct Free {
        void operator()(ps_decoder_s* ps) const;
    };
    explicit Recogniser(ps_decoder_s* ps) : ps_(ps) {}
    std::unique_ptr<ps_decoder_s, Free> ps_;
};

// Mono sound of media::kSoundRate as the recogniser wants it; floats are -1..1.
std::vector<std::int16_t> for_listening(const std::vector<float>& mono);
std::vector<std::int16_t> for_listening(const std::vector<std::int16_t>& mono);

}  // namespace canalogue::film
