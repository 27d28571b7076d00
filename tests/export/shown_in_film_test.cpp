#include <catch2/catch.hpp>

#include "export/shown_in_film.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

FilmTime in_film(double seconds) { return {nanos_from_seconds(seconds)}; }

// A card of 2 s; r1 from 10 s on at the pace of 4, for 3 s of film; r2 from 20 s on beside r1 from 5 s on, for 4 s.
Plan plan_of_three() {
    Card card;
    card.length = 2 * kSecond;
    Passage quick;
    quick.recording = "r1";
    quick.span = span(10, 22);
    quick.pace = 4;
    Passage two;
    two.recording = "r2";
    two.span = span(20, 24);
    two.beside = Beside{};
    two.beside->recording = "r1";
    two.beside->meets = at(6);
    two.beside->with = at(21);
    Plan plan;
    plan.items = {card, quick, two};
    return plan;
}

CheckReport with(SuspectKind kind, std::vector<FilmTime> seen) {
    CheckReport report;
    report.looks.push_back({CheckLook::Outcome::finding, "A look", "", {{"something", "somewhere", kind, false, std::move(seen), .8}}});
    return report;
}

}  // namespace

TEST_CASE("An instant of a film is told as the instant of each recording that it shows, whatever the pace") {
    const Plan plan = plan_of_three();
    const Schedule s = schedule(plan, {}, {});
    CHECK(shown_in_film(plan, s, in_film(1)).empty());
    CHECK(shown_in_film(plan, s, in_film(60)).empty());
    const auto quick = shown_in_film(plan, s, in_film(3));
    REQUIRE(quick.size() == 1);
    CHECK(quick[0].recording == "r1");
    CHECK(quick[0].at.seconds() == Approx(14).margin(.01));
    CHECK(quick[0].pace == Approx(4).margin(.01));
    const auto two = shown_in_film(plan, s, in_film(6));
    REQUIRE(two.size() == 2);
    CHECK(two[0].recording == "r2");
    CHECK(two[0].at.seconds() == Approx(21).margin(.01));
    CHECK(two[1].recording == "r1");
    CHECK(two[1].at.seconds() == Approx(6).margin(.01));
}

TEST_CASE("What was seen close together is one thing to judge, and a voice is the passage's own recording's") {
    const Plan plan = plan_of_three();
    const Schedule s = schedule(plan, {}, {});
    const auto quick = found_in_recordings(with(SuspectKind::outside, {in_film(2.6), in_film(3), in_film(3.4)}), plan, s);
    REQUIRE(quick.size() == 1);
    CHECK(quick[0].recording == "r1");
    CHECK(quick[0].span.start.seconds() == Approx(10.4).margin(.02));   // half a second of film is two of the recording
    CHECK(quick[0].span.end.seconds() == Approx(17.6).margin(.02));
    CHECK(quick[0].sureness == .8);
    CHECK(found_in_recordings(with(SuspectKind::outside, {in_film(6)}), plan, s).size() == 2);
    const auto voice = found_in_recordings(with(SuspectKind::speech, {in_film(6)}), plan, s);
    REQUIRE(voice.size() == 1);
    CHECK(voice[0].recording == "r2");
    CHECK(found_in_recordings(with(SuspectKind::outside, {in_film(1)}), plan, s).empty());  // a card
}

TEST_CASE("A judgement holds for its kind, its recording and its time, and for all pictures that are shown together") {
    const Plan plan = plan_of_three();
    const Schedule s = schedule(plan, {}, {});
    const auto judged = [&](const std::string& recording, SuspectKind kind, RecordingSpan where, double t) {
        Suspect j;
        j.recording = recording;
        j.kind = kind;
        j.span = where;
        return judged_at({j}, SuspectKind::outside, in_film(t), plan, s);
    };
    CHECK(judged("r1", SuspectKind::outside, span(13, 15), 3));
    CHECK_FALSE(judged("r1", SuspectKind::outside, span(15, 16), 3));
    CHECK_FALSE(judged("r1", SuspectKind::text, span(13, 15), 3));
    CHECK_FALSE(judged("r2", SuspectKind::outside, span(13, 15), 3));
    CHECK_FALSE(judged("r2", SuspectKind::outside, span(20, 22), 6));  // the other picture was not
    CHECK_FALSE(judged_at({}, SuspectKind::outside, in_film(1), plan, s));
}
