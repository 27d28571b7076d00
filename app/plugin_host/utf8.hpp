// Whether bytes are well-formed UTF-8 (Unicode 15, table 3-7): no overlong forms, no surrogates,
// nothing above U+10FFFF. A zero byte counts as ill-formed: no text here holds one.
#pragma once

#include <string_view>

namespace canalogue {

inline bool is_utf8(std::string_view s) {
    const auto byte = [&](std::size_t i) { return i < s.size() ? static_cast<unsigned char>(s[i]) : 0u; };
    const auto in = [](unsigned b, unsigned low, unsigned high) { return low <= b && b <= high; };
    for (std::size_t i = 0; i < s.size();) {
        const unsigned a = byte(i), b = byte(i + 1);
        const bool third = in(byte(i + 2), 0x80, 0xBF), fourth = in(byte(i + 3), 0x80, 0xBF);
        if (in(a, 0x01, 0x7F)) {
            i += 1;
        } else if (in(a, 0xC2, 0xDF) && in(b, 0x80, 0xBF)) {
            i += 2;
        } else if (in(a, 0xE0, 0xEF) && third && in(b, a == 0xE0 ? 0xA0 : 0x80, a == 0xED ? 0x9F : 0xBF)) {
            i += 3;
        } else if (in(a, 0xF0, 0xF4) && third && fourth &&
                   in(b, a == 0xF0 ? 0x90 : 0x80, a == 0xF4 ? 0x8F : 0xBF)) {
            i += 4;
        } else {
            return false;
        }
    }
    return true;
}

}  // namespace canalogue
