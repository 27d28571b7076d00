#include "app/core/ear.hpp"

namespace canalogue {

std::string_view name_of(Ear ear) { return ear == Ear::right ? "right" : "left"; }
std::string_view letter_of(Ear ear) { return ear == Ear::right ? "R" : "L"; }

Result<Ear> ear_named(std::string_view name) {
    std::string low;
    for (char c : name) low += static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
    if (low == "right" || low == "r") return Ear::right;
    if (low == "left" || low == "l") return Ear::left;
    return wrong_use("'" + std::string(name) + "' is not an ear: write right or left.");
}

std::string_view quadrant_of(Ear ear, int hour) {
    const int h = (ear == Ear::right ? hour : mirrored_hour(hour)) % 12;  // as if in a right ear; 12 -> 0
    if (h < 3) return "antero-superior";
    if (h < 6) return "antero-inferior";
    if (h < 9) return "postero-inferior";
    return "postero-superior";
}

}  // namespace canalogue
