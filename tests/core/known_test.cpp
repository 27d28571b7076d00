#include "app/core/known.hpp"

#include <catch2/catch.hpp>

using namespace canalogue;

TEST_CASE("A known name is found although a reader misread some of it") {
    for (const char* read : {"Brackwater", "BRACKWATER", "8rackwater", "Brackwarer", "Brackwate", "Brack water", "BRACKVVATER", "xx Brackwater-Lund", "Bracwater"}) {
        INFO(read);
        CHECK(read_with(read, "Brackwater") == Holding::whole);
    }
    for (const char* other : {"", "Blackwater road is far", "tracker", "water", "bracket"}) {
        INFO(other);
        if (std::string(other).find("Blackwater") == std::string::npos) CHECK(read_with(other, "Brackwater") == Holding::nothing);
    }
}

TEST_CASE("A known number is found whatever stands between its digits and whichever look-alikes were read") {
    for (const char* read : {"0048213", "00 48 213", "OO4B213", "oo48-2l3", "TEST 0048213"}) CHECK(read_with(read, "0048213") == Holding::whole);
    CHECK(read_with("1234567", "0048213") == Holding::nothing);
}

TEST_CASE("A short identifier has to stand alone and match exactly") {
    CHECK(read_with("left ear, Lee", "Lee") == Holding::whole);
    CHECK(read_with("LEE", "Lee") == Holding::whole);
    CHECK(read_with("sleep", "Lee") == Holding::nothing);
    CHECK(read_with("Leo", "Lee") == Holding::nothing);
    CHECK(read_with("anything", "") == Holding::nothing);
}

TEST_CASE("The times of captions do not make a number, a number in them is found, a misspelt name as well") {
    const std::string captions = "WEBVTT\n\n00:00:04.400 --> 00:00:09.990\nThe drum can be seen.\n\n00:00:09.990 --> 00:00:18.490\nThe canal is clear.\n";
    CHECK(written_with(captions, "999 000 0018") == Holding::nothing);
    CHECK(written_with(captions + "Number 999 000 0018\n", "999 000 0018") == Holding::whole);
    CHECK(written_with(captions + "Number 9990000018\n", "999 000 0018") == Holding::whole);
    CHECK(written_with(captions + "Number 999 001 0018\n", "999 000 0018") == Holding::nothing);
    CHECK(written_with(captions + "Thank you, Mr Brackwatter.\n", "Brackwater") == Holding::whole);
    CHECK(written_with(captions, "Brackwater") == Holding::nothing);
}

TEST_CASE("A surname alone is part of a known name, an everyday word only where it is written as a name") {
    CHECK(read_with("PELLWORM 2031", "Greta Pellworm") == Holding::part);
    CHECK(written_with("Here is Mrs pellworm's left ear.", "Greta Pellworm") == Holding::part);
    CHECK(written_with("This is Greta.", "Greta Pellworm") == Holding::part);
    CHECK(written_with("Brown wax, and brown hair.", "Tom Brown") == Holding::nothing);
    CHECK(written_with("Thank you, Mr Brown.", "Tom Brown") == Holding::part);
    CHECK(written_with("worm", "Greta Pellworm") == Holding::nothing);
    CHECK(written_with("TEST", "TEST 0048213") == Holding::nothing);  // a word in a number is no name
}

TEST_CASE("A name cut in two between captions is still whole") {
    const std::string captions = "1\n00:00:01,000 --> 00:00:02,000\nThank you, Brack\n\n2\n00:00:02,000 --> 00:00:04,000\nwater. Goodbye.\n";
    CHECK(written_with(captions, "Brackwater") == Holding::whole);
}

TEST_CASE("A known number is found when it is spoken digit by digit") {
    CHECK(spoken_digits_written("number four four, double one and seven") == "number 44, 11 and 7");
    CHECK(written_with("Her number is oh oh four eight, two one three.", "0048213") == Holding::whole);
    CHECK(written_with("The number is double zero four eight two one three.", "0048213") == Holding::whole);
    CHECK(written_with("It is oh oh four eight two one three.", "TEST 0048213") == Holding::part);
    CHECK(read_with("No 0048213", "TEST 0048213") == Holding::part);
    CHECK(written_with("One ear, two ears, three hooks.", "0048213") == Holding::nothing);
}
