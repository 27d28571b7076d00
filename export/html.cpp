#include "export/html.hpp"

#include "app/media/file_hash.hpp"

namespace canalogue::film {

namespace {

int digit(char c) { return c <= '9' ? c - '0' : c - 'a' + 10; }

// RFC 4648 base 64 of bytes that are written in hexadecimal.
std::string base64_of_hex(const std::string& hex) {
    static const char* const kLetters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string out;
    unsigned bits = 0;
    int held = 0;
    for (const char c : hex) {
        bits = bits << 4 | static_cast<unsigned>(digit(c));
        held += 4;
        if (held >= 6) {
            held -= 6;
            out += kLetters[bits >> held & 63];
        }
    }
    if (held > 0) out += kLetters[bits << (6 - held) & 63];
    while (out.size() % 4) out += '=';
    return out;
}

std::string source_of(std::string_view inlined) { return inlined.empty() ? "'none'" : "'sha256-" + base64_of_hex(media::hash_bytes(std::string(inlined))) + "'"; }

}  // namespace

std::string html_safe(std::string_view text) {
    std::string out;
    for (const char c : text) {
        if (c == '&') out += "&amp;";
        else if (c == '<') out += "&lt;";
        else if (c == '>') out += "&gt;";
        else if (c == '"') out += "&quot;";
        else out += c;
    }
    return out;
}

std::string json_in_page(std::string json) {
    for (std::size_t at = 0; (at = json.find('<', at)) != std::string::npos; at += 6) json.replace(at, 1, "\\u003c");
    return json;
}

std::string page_policy(std::string_view style, std::string_view script) {
    // A page that is opened from disk has its neighbours at file:, which not every browser takes for 'self'.
    return "default-src 'none'; img-src 'self' file:; media-src 'self' file:; style-src " + source_of(style) + "; script-src " + source_of(script) +
           "; base-uri 'none'; form-action 'none'";
}

std::string without_own_parts(std::string page) {
    for (const std::string_view own : {page_style(), page_script()})
        for (std::size_t at = 0; (at = page.find(own, at)) != std::string::npos;) page.replace(at, own.size(), " ");
    return page;
}

}  // namespace canalogue::film
