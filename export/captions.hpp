// Captions: cues made from narration, timed by the words as they were spoken.
#pragma once

#include <string>
#include <vector>

#include "app/core/time.hpp"

namespace canalogue::film {

// A spoken word: its bytes in the line, when it begins and when it is over, from the line's start.
struct WordMark {
    std::size_t at = 0, length = 0;
    Nanos time = 0;
    Nanos end = 0;  // 0: not known
};

struct Cue {
    FilmSpan span;
    std::vector<std::string> lines;  // at most two, at most kLineLength characters each
};

struct CaptionTrack {
    std::string language;  // BCP 47
    std::vector<Cue> cues;
};

// 37 characters a line, two lines (BBC subtitle guidelines, quoted at second hand); a cue stays at
// least 1 s and at most 7 s (common practice); gaps under 1 s are closed (from memory).
inline constexpr std::size_t kLineLength = 37;
inline constexpr Nanos kShortestCue = kSecond, kLongestCue = 7 * kSecond, kGapToClose = kSecond;
// Reading speed that is comfortable: 160 to 180 words a minute (BBC, quoted at second hand).
inline constexpr double kWordsPerMinute = 180;

// Cues for one line that begins at `start` and takes `length`.
std::vector<Cue> cues_for(const std::string& line, const std::vector<WordMark>& words, FilmTime start, Nanos length);

// Closes short gaps and keeps cues from overlapping. Cues must be sorted by start. Nothing ends after `end`.
void settle(std::vector<Cue>& cues, FilmTime end);

// Number of characters, not bytes, of UTF-8 text.
std::size_t characters(const std::string& utf8);

}  // namespace canalogue::film
