#include "plugins/burnt_text/readings.hpp"

#include <algorithm>
#include <tuple>

#include "plugins/sdk/reading.hpp"

namespace canalogue::burnt_text {

namespace {

bool unread(const std::string& text) { return plugin::wording_of(text).empty(); }

// Parts of one picture become one reading.
std::vector<Reading> by_time(std::vector<Reading> parts) {
    std::stable_sort(parts.begin(), parts.end(), [](const auto& a, const auto& b) { return std::tie(a.t_ns, a.x) < std::tie(b.t_ns, b.x); });
    std::vector<Reading> out;
    for (auto& part : parts) {
        if (out.empty() || out.back().t_ns != part.t_ns) out.push_back(std::move(part));
        else if (!part.text.empty()) out.back().text += (out.back().text.empty() ? "" : " ") + part.text;
    }
    return out;
}

void add(Wording& to, const Reading& reading) {
    to.last_ns = reading.t_ns;
    if (!unread(reading.text) && std::find(to.texts.begin(), to.texts.end(), reading.text) == to.texts.end()) to.texts.push_back(reading.text);
}

// With the first reading and not with the last: a slow drift from one text to another must not pass.
bool goes_on(const Wording& now, const std::string& text) {
    if (now.texts.empty()) return unread(text);
    return plugin::same_wording(now.texts.front(), text);
}

// Without single pictures in which nothing could be read, between others or at an end.
std::vector<Reading> without_slips(const std::vector<Reading>& all) {
    std::vector<Reading> out;
    for (std::size_t i = 0; i < all.size(); ++i) {
        const bool alone = (i == 0 || !unread(all[i - 1].text)) && (i + 1 == all.size() || !unread(all[i + 1].text));
        if (!alone || !unread(all[i].text) || all.size() == 1) out.push_back(all[i]);
    }
    return out;
}

}  // namespace

std::vector<Wording> wordings(std::vector<Reading> readings) {
    std::vector<Wording> out;
    for (const auto& reading : without_slips(by_time(std::move(readings)))) {
        if (out.empty() || !goes_on(out.back(), reading.text)) out.push_back({reading.t_ns, reading.t_ns, {}});
        add(out.back(), reading);
    }
    return out;
}

std::string in_lines(const std::vector<std::string>& texts, std::size_t most_bytes) {
    std::string out;
    for (const auto& text : texts) {
        if (out.size() + text.size() + 1 > most_bytes) return out + (out.empty() ? "..." : "\n...");
        out += (out.empty() ? "" : "\n") + text;
    }
    return out;
}

}  // namespace canalogue::burnt_text
