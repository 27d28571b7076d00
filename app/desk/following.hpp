// Follows a box through a shot: where what it holds moves to, frame by frame.
#pragma once

#include "app/core/cover.hpp"
#include "app/core/pointer.hpp"
#include "app/core/suspect.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct Followed {
    std::vector<TrackPoint> track;  // a point for each frame from `from` on
    RecordingTime end;              // up to here it was followed
    bool lost = false;              // it was lost from sight there, before the span asked for was over
};

// By the median motion of a grid of points in the box (Kalal, Mikolajczyk and Matas 2010: forward-backward
// error; the scale from the distances between points). Cancelled when asked.
// covers: what is looked at is what they leave to see; null: all of it.
Result<Followed> follow_box(const Desk& desk, const Recording& recording, UprightBox box, RecordingSpan span, const Progress& progress, const Covers* covers = nullptr);

// A pointer's path from its place at `from` on, to its end or where what it points at is lost; from pictures as learners are
// shown them, so that nothing under a cover can move it. In words what was done. What of the path lies before `from` stays.
Result<std::string> follow_pointer(Desk& desk, const std::string& session, const std::string& recording, Pointer& pointer, RecordingTime from, const Progress& progress);

// The same backwards: from `box` as it is at span.end to span.start. The track is in order of time; `end` is the earliest
// time at which it was still seen.
Result<Followed> follow_box_back(const Desk& desk, const Recording& recording, UprightBox box, RecordingSpan span, const Progress& progress);

// Follows a suspect's box from `from` back to where it came into view, or the recording's beginning, and covers it from there.
// Nothing that was covered is uncovered. In words what was done.
Result<std::string> follow_suspect_back(Desk& desk, const std::string& session, const std::string& suspect, RecordingTime from, const Progress& progress);

// Puts the box of a suspect made by hand where it is at `at`, and leaves it there to its end: whoever wants follows it from
// there. For some seconds before, the way between where it had been and where it is is covered as a whole.
Result<std::string> place_box(Desk& desk, const std::string& session, const std::string& suspect, RecordingTime at, UprightBox box, const Progress& progress);

// Follows a suspect's box from `from` to its end and keeps the track. Where it is lost, the box stays as
// it was there to the end: nothing is uncovered by losing it. In words what was done.
Result<std::string> follow_suspect(Desk& desk, const std::string& session, const std::string& suspect, RecordingTime from, const Progress& progress);

}  // namespace canalogue::desk
