// Short ways to write down the values that core tests are about. Seconds stand for readability.
#pragma once

#include <cmath>
#include <fstream>
#include <string>
#include <vector>

#include "app/core/session.hpp"
#include "app/core/vocabulary.hpp"

namespace canalogue::test {

inline Nanos s(double seconds) { return nanos_from_seconds(seconds); }
inline RecordingTime at(double seconds) { return {s(seconds)}; }
inline RecordingSpan span(double from, double until) { return {at(from), at(until)}; }

// A recording of `length` seconds that shows the right ear.
inline Recording recording(const std::string& id = "r1", double length = 60, Size stored = {1920, 1080}) {
    Recording r;
    r.id = id;
    r.only = span(0, length);
    r.stored = stored;
    r.frames_per_second = 25;
    r.ears = {{r.only, Ear::right}};
    return r;
}

inline Event event(const std::string& id, const std::string& kind, double seconds, Ear ear = Ear::right, const std::string& in = "r1") {
    Event e;
    e.id = id;
    e.kind = kind;
    e.ear = ear;
    e.recording = in;
    e.at = at(seconds);
    return e;
}

inline std::string ear_care_text() {
    std::ifstream in(CANALOGUE_SOURCE_DIR "/plugins/ear_care/vocabulary.json");
    return {std::istreambuf_iterator<char>(in), {}};
}

inline const Vocabulary& ear_care() {
    static const Vocabulary shipped = [] {
        auto v = Vocabulary::parse(ear_care_text());
        if (!v) throw std::runtime_error(v.failure().sentence);
        return *v;
    }();
    return shipped;
}

}  // namespace canalogue::test
