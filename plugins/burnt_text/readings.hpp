// What was read of one line over time: where its wording changes, another line stands in its place.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace canalogue::burnt_text {

struct Reading {
    std::int64_t t_ns = 0;
    float x = 0;  // left edge: parts read at one time are put together from left to right
    std::string text;
};

// One wording, from the first to the last time it was read. Every different reading of it is kept (the
// digits of a counter may be somebody's number), each once, in order.
struct Wording {
    std::int64_t first_ns = 0, last_ns = 0;
    std::vector<std::string> texts;
};

// In order of time; readings need not be. Single pictures in which nothing could be read change nothing,
// two in a row begin a wording without texts.
std::vector<Wording> wordings(std::vector<Reading> readings);

// The texts of a proposal, one a line, at most so many bytes: whole lines, and "..." where some are left out.
std::string in_lines(const std::vector<std::string>& texts, std::size_t most_bytes);

}  // namespace canalogue::burnt_text
