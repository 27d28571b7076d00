#include "export/caption_files.hpp"

#include <algorithm>
#include <sstream>

namespace canalogue::film {

namespace {

std::string srt_time(FilmTime t) {
    std::string text = format_timestamp(t.ns);
    std::replace(text.begin(), text.end(), '.', ',');
    return text;
}

// "01:02:03.450" or "02:03,450" as nanoseconds; -1 when it is neither.
Nanos time_of(std::string text) {
    std::replace(text.begin(), text.end(), ',', '.');
    const auto dot = text.find('.');
    if (dot == std::string::npos || text.size() - dot != 4 || text.find(':') == std::string::npos) return -1;
    const auto t = parse_time(text);
    return t ? *t : -1;
}

std::string without_tags(const std::string& line) {
    std::string out;
    bool tag = false;
    for (char c : line) {
        if (c == '<') tag = true;
        if (!tag) out += c;
        if (c == '>') tag = false;
    }
    for (const auto& [coded, plain] : {std::pair{"&lt;", "<"}, {"&gt;", ">"}, {"&nbsp;", " "}, {"&lrm;", ""}, {"&rlm;", ""}, {"&amp;", "&"}})
        for (std::size_t at = 0; (at = out.find(coded, at)) != std::string::npos; at += std::string_view(plain).size()) out.replace(at, std::string_view(coded).size(), plain);
    return out;
}

struct Line {
    int number;
    std::string text;
};

// What stands between two blank lines.
std::vector<std::vector<Line>> blocks_of(const std::string& text) {
    std::vector<std::vector<Line>> out(1);
    std::istringstream in(text.starts_with("\xEF\xBB\xBF") ? text.substr(3) : text);
    std::string line;
    for (int number = 1; std::getline(in, line); ++number) {
        while (!line.empty() && line.back() == '\r') line.pop_back();
        if (!line.empty()) out.back().push_back({number, line});
        else if (!out.back().empty()) out.emplace_back();
    }
    return out;
}

}  // namespace

std::string captions_srt(const std::vector<Cue>& cues) {
    std::string out;
    for (std::size_t i = 0; i < cues.size(); ++i) {
        out += std::to_string(i + 1) + "\n" + srt_time(cues[i].span.start) + " --> " + srt_time(std::max(cues[i].span.end, cues[i].span.start + kMillisecond)) + "\n";
        for (const auto& line : cues[i].lines) out += line + "\n";
        out += "\n";
    }
    return out;
}

Result<std::vector<Cue>> read_captions(const std::string& text) {
    std::vector<Cue> out;
    for (const auto& block : blocks_of(text)) {
        const auto timing = std::find_if(block.begin(), block.end(), [](const Line& l) { return l.text.find("-->") != std::string::npos; });
        if (timing == block.end()) continue;  // the head, a note, a style
        const auto wrong = [&](const char* what) { return wrong_use("The captions cannot be read: at line " + std::to_string(timing->number) + ", " + what + "."); };
        if (timing - block.begin() > 1) return wrong("more than one line stands before the times");
        std::istringstream in(timing->text);
        std::string from, arrow, until;
        in >> from >> arrow >> until;
        const Nanos start = time_of(from), end = time_of(until);
        if (arrow != "-->" || start < 0 || end < 0) return wrong("times such as 00:01.000 --> 00:03.500 are expected");
        if (end <= start) return wrong("a cue ends before it begins");
        Cue cue{{{start}, {end}}, {}};
        for (auto line = timing + 1; line != block.end(); ++line) cue.lines.push_back(without_tags(line->text));
        if (!cue.lines.empty()) out.push_back(std::move(cue));
    }
    if (out.empty()) return wrong_use("The captions cannot be read: no cue was found; a WebVTT or SubRip file is expected.");
    std::stable_sort(out.begin(), out.end(), [](const Cue& a, const Cue& b) { return a.span.start < b.span.start; });
    return out;
}

}  // namespace canalogue::film
