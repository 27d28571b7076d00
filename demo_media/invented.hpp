// The invented patient and clinic. Test values all: the NHS number begins with 999, a range kept for
// tests; no such clinic, doctor or person is known to us; the place is open sea.
#pragma once

#include <string_view>

namespace canalogue::demo::invented {

inline constexpr std::string_view kName = "BRACKWATER, ALDOUS";
inline constexpr std::string_view kSurname = "Brackwater";
inline constexpr std::string_view kBorn = "DOB 14-MAR-1951";
inline constexpr std::string_view kNhsNumber = "NHS 999 000 0018";
inline constexpr std::string_view kHospitalNumber = "HOSP TEST 0048213";
inline constexpr std::string_view kClinic = "HARBOUR EAR CLINIC  ROOM 2";
inline constexpr std::string_view kSettings = "WB AUTO  GAIN 4  LED 70";
inline constexpr std::string_view kArtist = "R. Quayle-Test, Harbour Ear Clinic";
inline constexpr std::string_view kLocation = "+00.5000-000.5000/";  // Gulf of Guinea
inline constexpr std::string_view kRightFile = "Brackwater A 0048213 right.mp4";
inline constexpr std::string_view kLeftFile = "Brackwater A 0048213 left.mp4";

}  // namespace canalogue::demo::invented
