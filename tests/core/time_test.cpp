#include <catch2/catch.hpp>

#include <random>

#include "app/core/time_left.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

TEST_CASE("A time that a person writes is read to the nanosecond") {
    const std::vector<std::pair<std::string, Nanos>> good{
        {"0", 0},
        {"12", 12 * kSecond},
        {"12.5", 12'500'000'000},
        {"0.000000001", 1},
        {"0.123456789", 123'456'789},
        {"1:02.25", 62'250'000'000},
        {"59:59", 3599 * kSecond},
        {"90:00", 5400 * kSecond},
        {"00:01:02.250", 62'250'000'000},
        {"2:00:00", 7200 * kSecond},
        {"100:00:00", 360'000 * kSecond},
        {"75", 75 * kSecond},
    };
    for (const auto& [text, ns] : good) {
        INFO(text);
        auto t = parse_time(text);
        REQUIRE(t.ok());
        CHECK(*t == ns);
    }
}

TEST_CASE("What is no time is refused with a sentence that says how to write one") {
    for (const char* text : {"", " ", "abc", "-1", "+1", "1:", ":1", "1:60", "1:60:00", "1:02:60", "1:2:3:4", "1.", ".", "1,5", "1.2.3",
                             "1.0000000001", "12s", "1 2", "0x10", "1e3", "nan", "1:-2", "9999999999", "1000000001"}) {
        INFO("'" << text << "'");
        auto t = parse_time(text);
        REQUIRE_FALSE(t.ok());
        CHECK(t.failure().trouble == Trouble::wrong_use);
        CHECK(t.failure().sentence.find("12.5") != std::string::npos);
        CHECK(t.failure().sentence.back() == '.');
    }
}

TEST_CASE("Times are shown in the three forms that people and files want") {
    CHECK(format_time(62'250'000'000) == "1:02.25");
    CHECK(format_time(3 * kSecond) == "0:03");
    CHECK(format_time(3'600 * kSecond) == "1:00:00");
    CHECK(format_time(1) == "0:00.000000001");
    CHECK(format_clock(62'990'000'000) == "1:02");
    CHECK(format_clock(36'000 * kSecond + 61 * kSecond) == "10:01:01");
    CHECK(format_timestamp(62'250'000'000) == "00:01:02.250");
    CHECK(format_timestamp(62'250'499'999) == "00:01:02.250");
    CHECK(format_timestamp(62'250'500'000) == "00:01:02.251");
    CHECK(format_timestamp(59'999'600'000) == "00:01:00.000");  // the rounding carries
    CHECK(format_timestamp(360'000 * kSecond) == "100:00:00.000");
}

TEST_CASE("Every written time reads back as the same nanosecond") {
    std::mt19937_64 random(20260304);
    for (int i = 0; i < 20'000; ++i) {
        const Nanos t = static_cast<Nanos>(random() % (400'000ull * 1'000'000'000ull)) / (i % 3 == 0 ? 1'000'000 : 1);
        auto back = parse_time(format_time(t));
        REQUIRE(back.ok());
        REQUIRE(*back == t);
    }
}

TEST_CASE("Uniting spans leaves them sorted, apart, and none of them empty") {
    CHECK(united(std::vector<RecordingSpan>{}).empty());
    CHECK(united(std::vector{span(2, 2), span(3, 1)}).empty());
    CHECK(united(std::vector{span(5, 6), span(1, 2)}) == std::vector{span(1, 2), span(5, 6)});
    CHECK(united(std::vector{span(1, 2), span(2, 3)}) == std::vector{span(1, 3)});  // touching
    CHECK(united(std::vector{span(1, 9), span(2, 3), span(8, 10)}) == std::vector{span(1, 10)});
}

TEST_CASE("The gaps and the parts together are the whole, and never overlap") {
    CHECK(gaps_in(span(0, 10), {}) == std::vector{span(0, 10)});
    CHECK(gaps_in(span(0, 10), {span(0, 10)}).empty());
    CHECK(gaps_in(span(0, 10), {span(-5, 20)}).empty());
    CHECK(gaps_in(span(0, 10), {span(4, 5), span(2, 3)}) == std::vector{span(0, 2), span(3, 4), span(5, 10)});
    CHECK(gaps_in(span(3, 3), {}).empty());

    // Against counting seconds one by one.
    std::mt19937 random(7);
    for (int round = 0; round < 500; ++round) {
        std::vector<RecordingSpan> parts;
        std::vector<bool> in(30, false);
        for (int n = static_cast<int>(random() % 6); n > 0; --n) {
            const int from = static_cast<int>(random() % 40) - 5, until = from + static_cast<int>(random() % 10);
            parts.push_back(span(from, until));
            for (int k = std::max(from, 0); k < std::min(until, 30); ++k) in[static_cast<std::size_t>(k)] = true;
        }
        const auto gaps = gaps_in(span(0, 30), parts);
        for (std::size_t k = 0; k < in.size(); ++k) {
            const auto middle = at(static_cast<double>(k) + 0.5);
            const auto holding = std::count_if(gaps.begin(), gaps.end(), [&](const RecordingSpan& g) { return g.holds(middle); });
            REQUIRE(holding == (in[k] ? 0 : 1));
        }
    }
}

TEST_CASE("A span holds its start and not its end") {
    CHECK(span(1, 2).holds(at(1)));
    CHECK_FALSE(span(1, 2).holds(at(2)));
    CHECK_FALSE(span(1, 2).meets(span(2, 3)));
    CHECK(span(1, 2.5).meets(span(2, 3)));
    CHECK(span(3, 1).length() == 0);
}

TEST_CASE("What is left of a step is said when it can be judged, to five seconds") {
    using namespace std::chrono_literals;
    CHECK(time_left(60s, 0.5) == 60s);
    CHECK(time_left(60s, 0.25) == 180s);
    CHECK(time_left(61s, 0.5) == 60s);
    CHECK_FALSE(time_left(2s, 0.5));    // too early to say
    CHECK_FALSE(time_left(60s, 0.01));
    CHECK_FALSE(time_left(60s, 0.99));  // nearly over
    CHECK_FALSE(time_left(60s, 1));
}
