// Invented people, numbers and sentences for the labelled sessions. Test values all: record numbers say
// TEST or begin with 999 (the NHS range kept for tests); no such person, clinic or device is known to us.
#pragma once

#include <array>
#include <string>

#include "demo_media/chance.hpp"

namespace canalogue::demo::labelled {

struct Person {
    std::string given, family;
    std::string born;    // "14-03-1951"
    std::string number;  // "999 123 4567"
};

template <std::size_t N>
const char* one_of(Chance& chance, const std::array<const char*, N>& list) {
    return list[chance.bits() % N];
}
inline int whole(Chance& chance, int low, int high) {  // both ends included
    return low + int(chance.bits() % std::uint64_t(high - low + 1));
}

Person invented_person(Chance& chance);
std::string hospital_line(Chance& chance);
std::string settings_line(Chance& chance);
std::string serial_line(Chance& chance);
std::string small_talk(Chance& chance);
// A sentence that says who somebody is: a name, a date of birth or a number.
std::string telling_sentence(Chance& chance, const Person& person);

}  // namespace canalogue::demo::labelled
