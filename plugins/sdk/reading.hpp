// Whether two readings of one place say the same. Header only and without dependency: a spotter splits
// its lines by it and the program joins proposals by it, and the two must not disagree.
#pragma once

#include <algorithm>
#include <cctype>
#include <numeric>
#include <string>
#include <string_view>
#include <vector>

namespace canalogue::plugin {

// Letters in small, every digit made one (a clock that runs says the same), all else left out; what is
// beyond ASCII is kept as it is.
inline std::string wording_of(std::string_view text) {
    std::string out;
    for (const char c : text) {
        const auto u = static_cast<unsigned char>(c);
        if (u >= 0x80) out += c;
        else if (std::isdigit(u)) out += '0';
        else if (std::isalpha(u)) out += static_cast<char>(std::tolower(u));
    }
    return out;
}

// Edit distance (Levenshtein, 1966) of at most half the longer one: readers tremble over a moving view.
// Text that could not be read says the same as nothing but itself.
inline bool same_wording(std::string_view one, std::string_view other) {
    const std::string a = wording_of(one), b = wording_of(other);
    if (a.empty() || b.empty()) return a.empty() && b.empty();
    std::vector<std::size_t> row(b.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 0; i < a.size(); ++i) {
        std::size_t diagonal = row[0]++;
        for (std::size_t j = 0; j < b.size(); ++j) {
            const std::size_t best = std::min({row[j] + 1, row[j + 1] + 1, diagonal + (a[i] != b[j])});
            diagonal = row[j + 1];
            row[j + 1] = best;
        }
    }
    return row.back() * 2 <= std::max(a.size(), b.size());
}

}  // namespace canalogue::plugin
