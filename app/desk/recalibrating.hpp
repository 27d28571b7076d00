// Setting right what passes for the inside of an ear in one recording, by spans that a person marks.
#pragma once

#include "app/core/view_marks.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct RecalibrateWish {
    std::string session;
    std::vector<SessionSpan> inside, outside;  // at least two of each, all in one recording; both empty: forget the marks
    std::string recording;                     // to forget those of; empty otherwise
};

struct Recalibrated {
    std::string recording;
    ViewReads reads;   // of the gauge, at the marks
    int withdrawn = 0; // suspects that the next scan looks for anew
};

// The recording is measured where it was not; its suspects of the outside that nobody has decided are withdrawn, and its
// time counts as not scanned for the outside until the next scan: covered. One undoable act. Refuses marks that the
// gauge cannot tell apart.
Result<Recalibrated> recalibrate(Desk& desk, const RecalibrateWish& wish, const Progress& progress);

// What the gauge reads at a recording's marks; zeros where there are none, or they cannot be used.
Result<ViewReads> view_reads(Desk& desk, const std::string& session, const Recording& recording);

}  // namespace canalogue::desk
