// How a word sounds, in the phones that the speech recogniser's acoustic model knows.
#pragma once

#include <string>
#include <string_view>

#include "app/core/result.hpp"

namespace canalogue::film {

// IPA as espeak-ng writes American English ("mˈɑːɹloʊ") in the 39 phones of the CMU pronouncing dictionary, with
// blanks between ("M AA R L OW"); signs that have no phone there are passed over. Phones: the dictionary's own list
// (public domain, in Debian's pocketsphinx-en-us); the pairing of signs with phones is from memory.
std::string phones_of_ipa(std::string_view ipa);

// A word that no dictionary knows, as the draft voice would read it; empty where nothing of it is spoken.
Result<std::string> guessed_phones(const std::string& word);

}  // namespace canalogue::film
