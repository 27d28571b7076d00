#include <catch2/catch.hpp>

#include "export/schedule.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

Plan plan_of(const Passage& passage) {
    Plan plan;
    plan.items = {passage};
    return plan;
}

Passage passage(double from, double until, double pace = 1) {
    Passage p;
    p.recording = "r1";
    p.span = span(from, until);
    p.pace = pace;
    return p;
}

double seconds(Nanos t) { return static_cast<double>(t) / kSecond; }

// Pieces follow one another without gap or overlap, up to the film's end.
void check_whole(const Schedule& s) {
    long at = 0;
    for (const auto& p : s.pieces) {
        CHECK(p.first == at);
        CHECK(p.count > 0);
        at += p.count;
    }
    CHECK(at == s.frames);
    for (long f = 0; f < s.frames; f += 7) {
        const Piece& p = s.piece_at(f);
        CHECK((p.first <= f && f < p.first + p.count));
    }
}

}  // namespace

TEST_CASE("A passage at its own pace lasts as long as it was filmed") {
    for (double pace : {0.25, 0.5, 1.0, 1.75, 3.0, 8.0}) {
        const Schedule s = schedule(plan_of(passage(10, 18, pace)), {}, {});
        INFO(pace);
        CHECK(seconds(s.length()) == Approx(8 / pace).margin(0.04));
        CHECK(s.paces[0] == pace);
        CHECK(s.piece_at(0).source(0) == at(10));
        CHECK(s.piece_at(s.frames - 1).source(s.frames - 1) < at(18));
        check_whole(s);
    }
}

TEST_CASE("A ramp begins and ends at the recording's own pace, never jumps, and shows the whole passage") {
    for (double pace : {0.25, 0.5, 2.0, 4.0, 8.0}) {
        Passage p = passage(10, 22, pace);
        p.ramp = 3 * kSecond;
        const Schedule s = schedule(plan_of(p), {}, {});
        INFO(pace);
        check_whole(s);
        // Twice the ramp at the mean of 1 and the pace, the rest at the pace.
        CHECK(seconds(s.length()) == Approx(6 / pace + 6 / ((1 + pace) / 2)).margin(0.13));
        CHECK(s.piece_at(0).source(0) == at(10));
        const auto pace_of = [&](long f) { return seconds(s.piece_at(f).step_at(f)) * 25; };
        // The first frame stands for a stretch in which the pace changes already.
        CHECK(pace_of(0) == Approx(1).margin(0.05 + std::abs(pace - 1) * 0.03));
        CHECK(pace_of(s.frames / 2) == Approx(pace).epsilon(0.02));
        CHECK(pace_of(s.frames - 1) == Approx(1).margin(0.05 + std::abs(pace - 1) * 0.03));
        Nanos last = s.piece_at(0).source(0).ns;
        const double most = std::abs(pace - 1) * 0.14 + 0.02;
        for (long f = 1; f < s.frames; ++f) {
            const Nanos now = s.piece_at(f).source(f).ns;
            CHECK(now > last);
            CHECK(std::abs(pace_of(f) - pace_of(f - 1)) <= most);
            last = now;
        }
        CHECK(seconds(at(22).ns - last) < 1.3 / 25);
    }
}

TEST_CASE("Under a ramp, an event is told when its instant is shown, and a voice still finds its room") {
    Passage p = passage(10, 22, 4);
    p.ramp = 3 * kSecond;
    for (double t : {10.0, 11.0, 12.9, 16.0, 19.5, 21.9}) {
        const Schedule s = schedule(plan_of(p), {event("e1", "drum-visible", t)}, {});
        REQUIRE(s.events.size() == 1);
        const long frame = s.events[0].span.start.ns * 25 / kSecond;
        INFO(t);
        CHECK(std::abs(seconds(s.piece_at(frame).source(frame).ns) - t) <= 4.5 / 25);
    }
    const Schedule s = schedule(plan_of(p), {}, {{9 * kSecond}});
    CHECK(seconds(s.length()) >= 9.9);
    CHECK(seconds(s.length()) < 10.2);
    CHECK(s.paces[0] < 4);
}

TEST_CASE("A hold stands still for its length, at its instant, and the film goes on from there") {
    Passage p = passage(10, 20);
    p.holds = {{at(12), 3 * kSecond}, {at(15), kSecond}};
    const Schedule s = schedule(plan_of(p), {}, {});
    check_whole(s);
    CHECK(seconds(s.length()) == Approx(14).margin(0.05));
    long held = 0;
    for (const auto& piece : s.pieces)
        if (piece.held) {
            held += piece.count;
            CHECK((piece.from == at(12) || piece.from == at(15)));
            CHECK(piece.source(piece.first + piece.count - 1) == piece.from);
        }
    CHECK(held == 4 * 25);
    Nanos last = 0;
    for (long f = 0; f < s.frames; ++f) {
        const Nanos now = s.piece_at(f).source(f).ns;
        CHECK(now >= last);  // never backwards
        last = now;
    }
}

TEST_CASE("Narration is never cut: the picture slows down, at most to half, and then stands still") {
    for (double speech : {1.0, 5.0, 9.0, 12.0, 30.0, 90.0}) {
        const Schedule s = schedule(plan_of(passage(0, 6)), {}, {{nanos_from_seconds(speech)}});
        INFO(speech << " s of speech over 6 s of picture");
        check_whole(s);
        REQUIRE(s.lines.size() == 1);
        CHECK(s.lines[0].start.ns == kBeforeSpeech);
        CHECK(s.lines[0].length == nanos_from_seconds(speech));
        CHECK(s.lines[0].start.ns + s.lines[0].length + kAfterSpeech <= s.length() + kSecond / 25);
        CHECK(s.paces[0] >= kSlowestToFit);
        CHECK(s.paces[0] <= 1.0);
        long held = 0;
        for (const auto& p : s.pieces) held += p.held ? p.count : 0;
        // Half pace gives 12 s; a frame or two may be missing by rounding.
        CHECK((held > 2) == (speech + 0.9 > 12.1));
        if (speech < 5) CHECK(s.paces[0] == 1.0);
    }
    // A passage that is slower than half by the plan is not made quicker.
    CHECK(schedule(plan_of(passage(0, 6, 0.25)), {}, {{60 * kSecond}}).paces[0] == 0.25);
}

TEST_CASE("Lines follow one another with a breath between them, each inside its own item") {
    Plan plan;
    plan.items = {Card{Card::Role::title, "T", {}, kSecond, "", {}}, passage(0, 4), passage(10, 14)};
    const NarrationLengths lengths{{3 * kSecond}, {2 * kSecond, 3 * kSecond}, {kSecond}};
    const Schedule s = schedule(plan, {}, lengths);
    check_whole(s);
    REQUIRE(s.lines.size() == 4);
    for (std::size_t i = 0; i + 1 < s.lines.size(); ++i) CHECK(s.lines[i].start.ns + s.lines[i].length + kBetweenLines <= s.lines[i + 1].start.ns + kSecond / 25);
    for (const auto& line : s.lines) {
        const long first = line.start.ns * s.frames_per_second / kSecond, last = (line.start.ns + line.length) * s.frames_per_second / kSecond;
        CHECK(s.piece_at(first).item == line.item);
        CHECK(s.piece_at(last).item == line.item);
    }
}

TEST_CASE("What the voice needs and what the picture does for it is told as the film has it") {
    struct Row {
        double passage, voice;
        bool slowed;
        double pace, stands, too_long;
    };
    // Rests before and after the line take 0.9 s.
    const Row rows[] = {{10, 5, false, 1, 0, 0}, {10, 9.1, false, 1, 0, 0}, {10, 14.1, true, 10.0 / 15, 0, 0}, {10, 19.1, true, 0.5, 0, 0}, {10, 22.1, true, 0.5, 3, 0}, {10, 29.1, true, 0.5, 10, 6}};
    for (const auto& row : rows) {
        const Plan plan = plan_of(passage(10, 10 + row.passage));
        const NarrationLengths voice{{s(row.voice)}};
        const Schedule film = schedule(plan, {}, voice);
        const VoiceFit fit = voice_fit(plan, film, voice, 0);
        INFO("voice " << row.voice);
        CHECK(seconds(fit.needed) == Approx(row.voice + 0.9));
        CHECK(fit.slowed == row.slowed);
        CHECK(fit.pace == Approx(row.pace));
        CHECK(seconds(fit.stands) == Approx(row.stands).margin(0.09));
        CHECK(seconds(fit.too_long) == Approx(row.too_long).margin(0.09));
        CHECK(film.length() >= fit.needed);  // whatever is told: speech is never cut
    }
}

TEST_CASE("Said as much shorter as is asked for, a voice that was too long fits, and holds of the plan are not counted as standing") {
    Passage p = passage(10, 14);
    p.holds = {{at(12), 3 * kSecond}};
    const Plan plan = plan_of(p);
    NarrationLengths voice{{30 * kSecond}};
    const VoiceFit before = voice_fit(plan, schedule(plan, {}, voice), voice, 0);
    REQUIRE(before.too_long > 0);
    voice[0][0] -= before.too_long;
    CHECK(voice_fit(plan, schedule(plan, {}, voice), voice, 0).too_long <= kSecond / 25);
    voice[0][0] = 5 * kSecond;
    const VoiceFit fits = voice_fit(plan, schedule(plan, {}, voice), voice, 0);
    CHECK(fits.stands == 0);
    CHECK_FALSE(fits.slowed);
}

TEST_CASE("A card stays as long as its voice needs, and that is told") {
    Plan plan;
    plan.items.emplace_back(Card{Card::Role::title, "Title", {}, 4 * kSecond, "", {"one"}});
    plan.items.emplace_back(Card{Card::Role::note, "Note", {}, 4 * kSecond, "", {}});
    const NarrationLengths voice{{6 * kSecond}, {}};
    const Schedule film = schedule(plan, {}, voice);
    CHECK(seconds(voice_fit(plan, film, voice, 0).stands) == Approx(2.9));
    CHECK(voice_fit(plan, film, voice, 1).needed == 0);
}

TEST_CASE("An event stands in the film where its instant is shown") {
    Passage p = passage(10, 20, 2);
    p.holds = {{at(14), 3 * kSecond}};
    const std::vector<Event> events{event("e1", "bleeding", 12), event("e2", "drum-visible", 14), event("e3", "bleeding", 16), event("e4", "bleeding", 30),
                                    event("e5", "bleeding", 12, Ear::left), event("e6", "bleeding", 12, Ear::right, "r2")};
    const Schedule s = schedule(plan_of(p), events, {});
    REQUIRE(s.events.size() == 3);  // one lies outside, one is the other ear's, one another recording's
    CHECK(s.events[0].event == 0);
    CHECK(seconds(s.events[0].span.start.ns) == Approx(1).margin(0.05));
    CHECK(s.events[1].event == 1);
    // While the picture is held, or the frame after it: the film shows the instant.
    CHECK(seconds(s.events[1].span.start.ns) == Approx(3.5).margin(1.55));
    CHECK(seconds(s.events[2].span.start.ns) == Approx(6).margin(0.05));
    for (const auto& e : s.events) CHECK_FALSE(e.span.empty());
}

TEST_CASE("An event at which the picture is held is marked from the hold's first frame") {
    Passage p = passage(10, 20);
    p.holds = {{at(14), 3 * kSecond}};
    const Schedule s = schedule(plan_of(p), {event("e1", "drum-visible", 14)}, {});
    REQUIRE(s.events.size() == 1);
    CHECK(seconds(s.events[0].span.start.ns) == Approx(4).margin(0.05));
}

TEST_CASE("An event with a length covers what of it is shown") {
    Event pause = event("e1", "pause", 8);
    pause.until = at(12);
    const Schedule s = schedule(plan_of(passage(10, 20)), {pause}, {});
    REQUIRE(s.events.size() == 1);
    CHECK(s.events[0].span.start.ns == 0);
    CHECK(seconds(s.events[0].span.end.ns) == Approx(2).margin(0.05));
}

TEST_CASE("The same instant shown twice is marked in each place") {
    Plan plan;
    plan.items = {passage(0, 5), passage(2, 4, 0.5)};
    const Schedule s = schedule(plan, {event("e1", "bleeding", 3)}, {});
    REQUIRE(s.events.size() == 2);
    CHECK(seconds(s.events[0].span.start.ns) == Approx(3).margin(0.05));
    CHECK(seconds(s.events[1].span.start.ns) == Approx(7).margin(0.05));
}

TEST_CASE("Chapters begin with their items, at any rate of frames") {
    for (int rate : {10, 24, 25, 30, 60}) {
        Plan plan;
        plan.film.frames_per_second = rate;
        Passage p = passage(0, 5);
        p.chapter = "Right ear";
        plan.items = {Card{Card::Role::title, "T", {}, 4 * kSecond, "Start", {}}, p, Card{Card::Role::end, "E", {}, kSecond, "", {}}};
        const Schedule s = schedule(plan, {}, {});
        check_whole(s);
        REQUIRE(s.chapters.size() == 2);
        CHECK(s.chapters[0].start.ns == 0);
        CHECK(s.chapters[1].start == s.time_of(4 * rate));
        CHECK(seconds(s.length()) == Approx(10).margin(1.5 / rate));
    }
}
