// Captions as files: SubRip beside WebVTT, and captions in another language read from either.
#pragma once

#include <string>
#include <vector>

#include "app/core/result.hpp"
#include "export/captions.hpp"

namespace canalogue::film {

// SubRip has no published standard; numbered cues, "00:00:01,000 --> 00:00:02,000", a blank line between (common practice).
std::string captions_srt(const std::vector<Cue>& cues);

// Reads WebVTT or SubRip, whichever it is: times and words, line breaks kept; tags, settings, notes and styles are left out.
// Cues come in order of time. Refuses, naming the line, what is neither, a cue that ends before it begins, and a file
// without cues.
Result<std::vector<Cue>> read_captions(const std::string& text);

}  // namespace canalogue::film
