#include <catch2/catch.hpp>

#include "app/core/identifiers.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;

namespace {

bool finds(const std::string& text, const std::string& what) {
    for (const auto& hit : identifiers_in(text))
        if (hit.what == what) return true;
    return false;
}

}  // namespace

// Rule: archived NHS check-digit note, quoted at second hand; numbers made up, check digits computed.
TEST_CASE("NHS numbers are told by their check digit") {
    for (const char* good : {"999 000 0018", "9995550121", "999 555 0121", "999-700-1001", "9990000050", "9990000123"}) {
        INFO(good);
        CHECK(is_nhs_number(good));
        CHECK(finds(std::string("seen ") + good + " today", "NHS number"));
    }
    for (const char* bad : {"9990000019", "9995505121", "9995550112", "999555012", "1234567890", "", "99955501211"}) {
        INFO(bad);
        CHECK_FALSE(is_nhs_number(bad));
        CHECK_FALSE(finds(std::string("seen ") + bad + " today", "NHS number"));
    }
    // A remainder of 1 asks for a check digit of 10: no last digit makes it valid.
    for (char last = '0'; last <= '9'; ++last) CHECK_FALSE(is_nhs_number(std::string("999123456") + last));
    // One repeated digit passes the sum and is no number.
    for (char d = '0'; d <= '9'; ++d) CHECK_FALSE(is_nhs_number(std::string(10, d)));
}

TEST_CASE("Every single wrong digit and every swap of neighbours in an NHS number is caught") {
    const std::string number = "9995550121";
    int caught = 0, swaps = 0;
    for (std::size_t i = 0; i < 10; ++i)
        for (char d = '0'; d <= '9'; ++d) {
            std::string wrong = number;
            if (wrong[i] == d) continue;
            wrong[i] = d;
            caught += !is_nhs_number(wrong);
        }
    CHECK(caught == 90);
    for (std::size_t i = 0; i + 1 < 10; ++i) {
        std::string wrong = number;
        std::swap(wrong[i], wrong[i + 1]);
        if (wrong != number) swaps += is_nhs_number(wrong);
    }
    CHECK(swaps == 0);
}

TEST_CASE("Dates in figures are found when the calendar has them") {
    for (const char* good : {"04/03/2026", "4.3.26", "2026-03-04", "29/02/2024", "29/02/2000", "03/04/2026", "04-03-2026", "4/3/26", "12/25/2026"}) {
        INFO(good);
        CHECK(finds(std::string("on ") + good + ", right ear", "date"));
    }
    for (const char* bad : {"29/02/2023", "29/02/1900", "31/04/2026", "2026-13-01", "00/05/2026", "2026-02-30"}) {
        INFO(bad);
        CHECK_FALSE(finds(std::string("on ") + bad + ", right ear", "date"));
    }
}

TEST_CASE("Dates in words are found, and what only looks like one is not") {
    for (const char* good : {"4 March 2026", "4th Mar 26", "March 4, 2026", "1st of all: 2nd June 1948", "12 SEPT 2019", "may 1st 1950"}) {
        INFO(good);
        CHECK(finds(good, "date"));
    }
    for (const char* bad : {"it may bleed", "16:9", "24/7", "v1.2.3", "2.7 mm", "0/30 degrees", "3 mm by 4 mm", "at 1:02.25", "5 o'clock", "suction at 20.5 kPa", "frame 48213"}) {
        INFO(bad);
        CHECK(identifiers_in(bad).empty());
    }
}

// E.164: plus and at most fifteen digits, the first not zero; fictional ranges of the regulator.
TEST_CASE("Telephone numbers in the international form are found") {
    for (const char* good : {"+441632960123", "+447700900461", "+12025550123"}) CHECK(finds(std::string("call ") + good, "telephone number"));
    for (const char* bad : {"+0123456", "+1234567890123456"}) CHECK_FALSE(finds(std::string("call ") + bad, "telephone number"));
}

TEST_CASE("Telephone numbers written in groups are found as well") {
    for (const char* good : {"+44 1632 960123", "+44 7700 900461", "+1 202-555-0123", "+44 (0)1632 960123"}) {
        INFO(good);
        CHECK(finds(std::string("call ") + good + ".", "telephone number"));
    }
    for (const char* bad : {"+3 mm 20 kPa", "a +5 to +7 change", "+10 20 30"}) {
        INFO(bad);
        CHECK_FALSE(finds(bad, "telephone number"));
    }
}

TEST_CASE("Mail addresses are found") {
    for (const char* good : {"a.b+c@example.org", "nurse_1@mail.example.com", "O'Neil@example.com"}) CHECK(finds(std::string("to ") + good + ".", "mail address"));
    for (const char* bad : {"a@b", "@example.com", "drops @ night"}) CHECK_FALSE(finds(bad, "mail address"));
}

// No format is universal: a cue word has to stand near.
TEST_CASE("Record numbers are found behind a cue word and only there") {
    for (const char* good : {"MRN 0048213", "Hosp No: K123456", "Pt ID EAR-00417", "Unit No 448213", "MRN: TEST 0048213", "NHS no. 9990000018", "mrn#0048213"}) {
        INFO(good);
        CHECK(finds(good, "record number"));
    }
    for (const char* bad : {"suction 2000 ml", "0.9 mm tube", "frame 48213", "the patient is 48 years old", "patient comfortable"}) {
        INFO(bad);
        CHECK_FALSE(finds(bad, "record number"));
    }
}

TEST_CASE("A hit says what and where, never the value") {
    const std::string text = "born 04/03/1948, MRN 0048213";
    const auto hits = identifiers_in(text);
    REQUIRE(hits.size() >= 2);
    CHECK(text.substr(hits[0].at, hits[0].length) == "04/03/1948");
    for (const auto& h : hits) CHECK(h.what.find("48") == std::string::npos);
}


// Check letters computed; the rule is quoted by public pages, the second letter's weight is from memory. Numbers made up.
TEST_CASE("Irish personal public service numbers are told by their check letter") {
    for (const char* good : {"1234567T", "7654321G", "1111111L", "1234567FA", "1234567TW"}) {
        INFO(good);
        CHECK(is_pps_number(good));
        CHECK(finds(std::string("PPS ") + good + ".", "personal public service number"));
    }
    for (const char* bad : {"1234567A", "7654321H", "123456T", ""}) {
        INFO(bad);
        CHECK_FALSE(is_pps_number(bad));
    }
}

// SSA POMS RM 10201.035; the two samples that pass are historic void ones.
TEST_CASE("American social security numbers are told by their shape") {
    for (const char* good : {"078-05-1120", "219-09-9999"}) CHECK(finds(std::string("no. ") + good + " there", "social security number"));
    for (const char* bad : {"000-12-3456", "666-12-3456", "900-12-3456", "123-00-4567", "123-45-0000", "987-65-4320", "12-345-6789"}) {
        INFO(bad);
        CHECK_FALSE(is_us_social_security_number(bad));
        CHECK_FALSE(finds(std::string("no. ") + bad, "social security number"));
    }
}

// ISO/IEC 7812-1 Annex B (from memory); results computed.
TEST_CASE("Account numbers are told by their sum, with the weakness that the sum has") {
    for (const char* good : {"79927398713", "1234567812345670", "900000000000001", "55558", "808401234567893", "123091", "123901"}) {
        INFO(good);
        CHECK(passes_luhn(good));
    }
    for (const char* bad : {"79927398710", "1234567812345607", "0000000000000000", ""}) {
        INFO(bad);
        CHECK_FALSE(passes_luhn(bad));
    }
    CHECK(finds("card 1234 5678 1234 5670 shown", "account or card number"));
    CHECK_FALSE(finds("sample 55558 of wax", "account or card number"));  // so short a number is anything
}

// Pattern as public validators document it, citing a UK government appendix.
TEST_CASE("Postcodes are told by their letters and figures") {
    for (const char* good : {"M1 1AE", "B33 8TH", "CR2 6XH", "DN55 1PT", "W1A 0AX", "EC1A 1BB"}) {
        INFO(good);
        CHECK(is_uk_postcode(good));
        CHECK(finds(std::string("of ") + good + ",", "postcode"));
    }
    for (const char* bad : {"Q1 1AA", "AI1 1AA", "M1 1AC", "EC1C 1BB", "M1 AAE"}) {
        INFO(bad);
        CHECK_FALSE(is_uk_postcode(bad));
        CHECK_FALSE(finds(std::string("of ") + bad, "postcode"));
    }
    CHECK_FALSE(finds("at S1 2nd on the list", "postcode"));
}

// Documentation networks of RFC 5737; fictional ranges of telephone numbers.
TEST_CASE("Network and web addresses, and telephone numbers as dialled at home, are found") {
    for (const char* good : {"192.0.2.10", "198.51.100.7", "203.0.113.255"}) CHECK(finds(std::string("at ") + good + " on", "network address"));
    for (const char* bad : {"256.0.0.1", "1.2.3", "01.2.3.4", "v1.2.3"}) {
        INFO(bad);
        CHECK_FALSE(finds(std::string("at ") + bad, "network address"));
    }
    for (const char* good : {"https://example.org/a?b", "www.example.com"}) CHECK(finds(std::string("see ") + good, "web address"));
    for (const char* good : {"01632960123", "01632 960123", "07700 900461", "(202) 555-0123"}) {
        INFO(good);
        CHECK(finds(std::string("call ") + good + " now", "telephone number"));
    }
    for (const char* bad : {"0048213", "0.123456789", "0:01.25"}) CHECK_FALSE(finds(std::string("at ") + bad, "telephone number"));
}

// 45 CFR 164.514(b)(2)(i)(C): ages over 89 become "90 or older".
TEST_CASE("Ages over 89 are found, lower ones are not") {
    for (const char* good : {"aged 93", "a 94-year-old", "101 years old", "age: 90"}) {
        INFO(good);
        CHECK(finds(good, "age over 89"));
    }
    for (const char* bad : {"aged 89", "a 48-year-old", "90 dB", "in 900 years", "90 seconds"}) {
        INFO(bad);
        CHECK_FALSE(finds(bad, "age over 89"));
    }
}
