// The host trusts no byte of a helper's answer (see also "Nonsense is refused whole").
#include <catch2/catch.hpp>
#include <random>

#include "app/core/text.hpp"
#include "app/plugin_host/proposal_check.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue::tests {

namespace {

constexpr Size kPicture{640, 480};
constexpr RecordingSpan kWhole{{0}, {10 * kSecond}};
constexpr RecordingSpan kOffered{{2 * kSecond}, {4 * kSecond}};

CheckedProposals check(const std::vector<std::uint8_t>& body) {
    return check_proposals(body, kPicture, kWhole, kOffered);
}

// An answer with one text suspect.
std::vector<std::uint8_t> answer(RecordingSpan span = kOffered) {
    wire::Writer out;
    out.put<std::uint32_t>(1).put<std::uint32_t>(CANALOGUE_TEXT).put(.5);
    out.put<std::int64_t>(span.start.ns).put<std::int64_t>(span.end.ns).put<std::uint32_t>(1);
    out.put<std::int64_t>(span.start.ns).put(600.25).put(0.).put(39.75).put(20.);
    return out.put("").put("TEST 12:00").take();
}

}  // namespace

TEST_CASE("Boxes are widened to whole pixels and may touch the edge", "[plugin_host]") {
    const auto checked = check(answer());
    CHECK(checked.nonsense.empty());
    REQUIRE(checked.proposals.size() == 1);
    CHECK(checked.proposals[0].track[0].box == UprightBox{600, 0, 40, 20});
}

TEST_CASE("A suspect may reach past the span it was found in, but must meet it", "[plugin_host]") {
    CHECK(check(answer({{kSecond}, {3 * kSecond}})).nonsense.empty());
    CHECK(check(answer({{5 * kSecond}, {6 * kSecond}})).nonsense == "a span away from the one it was shown");
}

TEST_CASE("An answer cut anywhere is nonsense, never a shorter answer", "[plugin_host]") {
    const auto whole = answer();
    for (std::size_t size = 0; size < whole.size(); ++size) {
        const auto checked = check({whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(size)});
        CHECK_FALSE(checked.nonsense.empty());
        CHECK(checked.proposals.empty());
    }
    auto longer = whole;
    longer.push_back(0);
    CHECK_FALSE(check(longer).nonsense.empty());
}

TEST_CASE("Whatever bytes arrive, what is let through is sound", "[plugin_host]") {
    constexpr unsigned kSeed = 20'260;
    std::mt19937 random(kSeed);
    int let_through = 0;
    for (int round = 0; round < 20'000; ++round) {
        auto body = answer();
        for (int hits = static_cast<int>(random() % 4); hits >= 0; --hits)
            body[random() % body.size()] = static_cast<std::uint8_t>(random());
        const auto checked = check(body);
        let_through += checked.nonsense.empty();
        for (const auto& p : checked.proposals) {
            REQUIRE((p.sureness >= 0 && p.sureness <= 1));
            REQUIRE((!p.span.empty() && p.span.start.ns >= 0 && p.span.end <= kWhole.end));
            for (const auto& [t, box] : p.track) {
                REQUIRE(p.span.holds(t));
                REQUIRE((!box.empty() && UprightBox{0, 0, kPicture.w, kPicture.h}.holds(box)));
            }
            REQUIRE((is_utf8(p.words) && is_utf8(p.field)));
        }
    }
    CHECK(let_through > 0);  // the check would prove nothing if all were refused
}

// Unicode 15.0, table 3-7, well-formed UTF-8 byte sequences.
TEST_CASE("Well-formed UTF-8 is told from bytes that only look like it", "[plugin_host]") {
    CHECK(is_utf8(""));
    CHECK(is_utf8("gehör 耳 \xF0\x9F\x91\x82"));
    CHECK(is_utf8("\xED\x9F\xBF"));
    CHECK_FALSE(is_utf8("\xC0\xAF"));          // overlong
    CHECK_FALSE(is_utf8("\xE0\x9F\xBF"));      // overlong
    CHECK_FALSE(is_utf8("\xED\xA0\x80"));      // surrogate
    CHECK_FALSE(is_utf8("\xF4\x90\x80\x80"));  // above U+10FFFF
    CHECK_FALSE(is_utf8("\xE2\x82"));          // cut short
    CHECK_FALSE(is_utf8("\x80"));
    CHECK_FALSE(is_utf8(std::string_view("a\0b", 3)));
}

}  // namespace canalogue::tests
