// Suspects made by hand, decided at once.
#pragma once

#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct CoverWish {
    std::string session;
    enum class What { box, whole, sound } what = What::whole;
    UprightBox box;
    SessionSpan span;
    std::string reason;
};

// One suspect for each recording the span touches, cut to what the recording holds.
Result<std::vector<Suspect>> cover(Desk& desk, const CoverWish& wish);

}  // namespace canalogue::desk
