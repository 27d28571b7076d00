// The draft voice: espeak-ng as a library, with its own word times: the program's only door to it. The
// same text gives the same samples, whatever was spoken before. Calls from several threads wait for
// one another (espeak-ng has one global state and cannot be started twice in a process).
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "app/core/result.hpp"
#include "export/captions.hpp"

namespace canalogue::film {

struct Spoken {
    int rate = 0;                       // samples a second
    std::vector<std::int16_t> samples;  // mono
    std::vector<WordMark> words;
    Nanos length() const { return rate ? static_cast<Nanos>(samples.size()) * kSecond / rate : 0; }
};

// language: BCP 47. Refuses a language espeak-ng has no voice for.
Result<Spoken> speak(const std::string& text, const std::string& language);

// Refuses a language that has no draft voice.
Result<void> can_speak(const std::string& language);

// As above with a voice of espeak-ng by its own name ("en+Hugo") and a pace in words a minute.
Result<Spoken> speak_as(const std::string& text, const std::string& voice, int words_a_minute);

// How American English says it, in signs of the IPA: what the speech recogniser's model was trained on.
Result<std::string> ipa_of(const std::string& text);

}  // namespace canalogue::film
