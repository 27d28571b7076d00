#include <catch2/catch.hpp>

#include "app/core/text.hpp"

using namespace canalogue;

TEST_CASE("what is no UTF-8 is told from what is", "[text]") {
    CHECK(is_utf8("plain, Zo\xC3\xAB, \xE6\x9D\x8E, \xF0\x9F\x91\x82"));
    // RFC 3629, sections 3 and 10: overlong forms, surrogates, beyond U+10FFFF, cut off.
    for (const char* bad : {"\xC0\x80", "\xE0\x80\xAF", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xF8\x88\x80\x80", "\xE6\x9D", "\x80", "Zo\xEB"})
        CHECK_FALSE(is_utf8(bad));
}

TEST_CASE("free text is one line without control characters", "[text]") {
    const auto text = one_line("  red \x1b[31m\tspot\nat five \xC2\x9B ", "The note");
    REQUIRE(text.ok());
    CHECK(*text == "red  [31m spot at five");
    CHECK(*one_line(" \n\t ", "The note") == "");
    const auto bad = one_line("caf\xE9", "The note");
    REQUIRE_FALSE(bad.ok());
    CHECK(bad.failure().trouble == Trouble::wrong_use);
    CHECK(bad.failure().sentence == "The note is not readable text: write it in UTF-8. Nothing was stored.");
    CHECK(legible("caf\xE9\n") == "caf? ");
}

TEST_CASE("a path of any bytes is stored and found again", "[text]") {
    for (const std::string& path : {std::string("/films/right ear.mp4"), std::string("/films/caf\xE9.mp4"), std::string("/a/\xFF\xFE")}) {
        CHECK(is_utf8(stored_path(path)));
        CHECK(path_from_stored(stored_path(path)) == path);
    }
    CHECK(stored_path("/films/right ear.mp4") == "/films/right ear.mp4");
}
