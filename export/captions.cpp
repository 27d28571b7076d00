#include "export/captions.hpp"

#include <algorithm>

namespace canalogue::film {

namespace {

struct Word {
    std::string text;  // with the punctuation that sticks to it
    Nanos time = 0;
};

bool ends_phrase(const std::string& word) { return !word.empty() && std::string(".,;:!?").find(word.back()) != std::string::npos; }
bool ends_sentence(const std::string& word) { return !word.empty() && std::string(".!?").find(word.back()) != std::string::npos; }

// Words as written, each with the time of the first spoken mark that falls into it.
std::vector<Word> words_of(const std::string& line, const std::vector<WordMark>& marks, Nanos length) {
    std::vector<Word> out;
    for (std::size_t i = 0; i < line.size();) {
        while (i < line.size() && line[i] == ' ') ++i;
        const std::size_t begin = i;
        while (i < line.size() && line[i] != ' ') ++i;
        if (i == begin) break;
        Nanos time = -1;
        for (const auto& m : marks)
            if (m.at >= begin && m.at < i) {
                time = m.time;
                break;
            }
        // Without a mark, by place in the line.
        if (time < 0) time = static_cast<Nanos>(static_cast<double>(length) * static_cast<double>(begin) / static_cast<double>(line.size()));
        if (!out.empty()) time = std::max(time, out.back().time);
        out.push_back({line.substr(begin, i - begin), time});
    }
    return out;
}

std::string joined(const std::vector<Word>& words, std::size_t from, std::size_t until) {
    std::string out;
    for (std::size_t i = from; i < until; ++i) out += (i > from ? " " : "") + words[i].text;
    return out;
}

// Two lines as equal as they can be, the break after a phrase where that costs little.
std::vector<std::string> broken(const std::vector<Word>& words, std::size_t from, std::size_t until) {
    const std::string whole = joined(words, from, until);
    if (characters(whole) <= kLineLength) return {whole};
    std::size_t best = from + 1;
    long best_cost = 1'000'000;
    for (std::size_t cut = from + 1; cut < until; ++cut) {
        const auto a = static_cast<long>(characters(joined(words, from, cut))), b = static_cast<long>(characters(joined(words, cut, until)));
        const long limit = static_cast<long>(kLineLength);
        long cost = std::abs(a - b) + (a > limit ? 1000 : 0) + (b > limit ? 1000 : 0);
        if (ends_phrase(words[cut - 1].text)) cost -= 8;
        if (cost < best_cost) best_cost = cost, best = cut;
    }
    return {joined(words, from, best), joined(words, best, until)};
}

bool fits(const std::vector<Word>& words, std::size_t from, std::size_t until) {
    for (const auto& line : broken(words, from, until))
        if (characters(line) > kLineLength) return false;
    return true;
}

}  // namespace

std::size_t characters(const std::string& utf8) {
    return static_cast<std::size_t>(std::count_if(utf8.begin(), utf8.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

std::vector<Cue> cues_for(const std::string& line, const std::vector<WordMark>& marks, FilmTime start, Nanos length) {
    const std::vector<Word> words = words_of(line, marks, length);
    std::vector<Cue> out;
    for (std::size_t from = 0; from < words.size();) {
        std::size_t until = from + 1, phrase = 0;
        while (until < words.size() && fits(words, from, until + 1) && words[until].time - words[from].time < kLongestCue - kSecond) {
            if (ends_phrase(words[until - 1].text)) phrase = until;
            if (ends_sentence(words[until - 1].text)) break;
            ++until;
        }
        // A full cue ends after its last whole phrase rather than in the middle of the next.
        if (until < words.size() && !ends_phrase(words[until - 1].text) && phrase > from + 1) until = phrase;
        // A lone last word would flash by: it joins this cue, or takes a word with it.
        if (until + 1 == words.size() && fits(words, from, words.size())) until = words.size();
        const Nanos end = until < words.size() ? words[until].time : length;
        out.push_back({{start + words[from].time, start + std::max(end, words[from].time + 1)}, broken(words, from, until)});
        from = until;
    }
    return out;
}

void settle(std::vector<Cue>& cues, FilmTime end) {
    for (std::size_t i = 0; i < cues.size(); ++i) {
        Cue& cue = cues[i];
        const FilmTime limit = i + 1 < cues.size() ? cues[i + 1].span.start : end;
        // Long enough to be read, where the next cue allows.
        std::size_t words = 1;
        for (const auto& line : cue.lines) words += static_cast<std::size_t>(std::count(line.begin(), line.end(), ' ')) + (&line != &cue.lines[0]);
        const Nanos reading = static_cast<Nanos>(static_cast<double>(words) * 60.0 / kWordsPerMinute * static_cast<double>(kSecond));
        cue.span.end = std::max(cue.span.end, cue.span.start + std::max(kShortestCue, reading));
        if (limit - cue.span.end < kGapToClose && i + 1 < cues.size()) cue.span.end = limit;
        cue.span.end = std::min(cue.span.end, limit);
    }
}

}  // namespace canalogue::film
