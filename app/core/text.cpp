#include "app/core/text.hpp"

#include <algorithm>
#include <cctype>
#include <cstdint>

namespace canalogue {

namespace {

// Paths that are no UTF-8 are stored as this and two hexadecimal digits for each byte; no path
// begins with it, for stored paths are absolute.
constexpr std::string_view kBytesMark = "bytes:";

// The length of the well-formed sequence at `i`, 0 when it is none.
std::size_t sequence_at(std::string_view text, std::size_t i) {
    const auto byte = [&](std::size_t k) { return static_cast<std::uint8_t>(text[k]); };
    const std::uint8_t lead = byte(i);
    if (lead < 0x80) return lead == 0 ? 0 : 1;
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
    if (lead < 0xC2 || lead > 0xF4 || i + length > text.size()) return 0;
    for (std::size_t k = 1; k < length; ++k)
        if ((byte(i + k) & 0xC0) != 0x80) return 0;
    const std::uint8_t second = byte(i + 1);
    if ((lead == 0xE0 && second < 0xA0) || (lead == 0xED && second > 0x9F) || (lead == 0xF0 && second < 0x90) || (lead == 0xF4 && second > 0x8F)) return 0;
    return length;
}

// C0, DEL, and C1 (which are two bytes, C2 80 to C2 9F).
bool is_control(std::string_view sequence) {
    const auto first = static_cast<std::uint8_t>(sequence[0]);
    return first < 0x20 || first == 0x7F || (first == 0xC2 && static_cast<std::uint8_t>(sequence[1]) < 0xA0);
}

}  // namespace

bool is_utf8(std::string_view text) {
    for (std::size_t i = 0, step = 0; i < text.size(); i += step)
        if ((step = sequence_at(text, i)) == 0) return false;
    return true;
}

std::string legible(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size();) {
        const std::size_t length = sequence_at(text, i);
        if (length == 0) out += '?';
        else if (is_control(text.substr(i, length))) out += ' ';
        else out += text.substr(i, length);
        i += length == 0 ? 1 : length;
    }
    return out;
}

Result<std::string> one_line(std::string_view text, const std::string& what) {
    if (!is_utf8(text)) return wrong_use(what + " is not readable text: write it in UTF-8. Nothing was stored.");
    std::string out = legible(text);
    const auto first = out.find_first_not_of(' ');
    if (first == std::string::npos) return std::string();
    return out.substr(first, out.find_last_not_of(' ') - first + 1);
}

std::string stored_path(std::string_view path) {
    if (is_utf8(path)) return std::string(path);
    static constexpr char kDigits[] = "0123456789abcdef";
    std::string out(kBytesMark);
    for (char c : path) {
        const auto b = static_cast<std::uint8_t>(c);
        out += {kDigits[b >> 4], kDigits[b & 15]};
    }
    return out;
}

std::string path_from_stored(std::string_view stored) {
    if (!stored.starts_with(kBytesMark)) return std::string(stored);
    const auto digit = [](char c) { return c <= '9' ? c - '0' : c - 'a' + 10; };
    std::string out;
    for (std::size_t i = kBytesMark.size(); i + 1 < stored.size(); i += 2)
        out += static_cast<char>(digit(stored[i]) * 16 + digit(stored[i + 1]));
    return out;
}

std::size_t letters_in(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](unsigned char c) { return std::isalpha(c) || c >= 0x80; }));
}

}  // namespace canalogue
