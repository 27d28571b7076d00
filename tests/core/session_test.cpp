#include <catch2/catch.hpp>

#include <nlohmann/json.hpp>

#include "app/core/session_record.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;
using nlohmann::json;

namespace {

template <class T>
T back(const T& value) { return json::parse(json(value).dump()).get<T>(); }

RecordInput session_input() {
    RecordInput in;
    in.session.id = "s1";
    in.recordings = {recording("r1", 120)};
    in.recordings[0].ears = {{span(0, 60), Ear::right}, {span(60, 120), Ear::left}};
    return in;
}

std::size_t count(const std::string& text, const std::string& words) {
    std::size_t n = 0;
    for (auto at = text.find(words); at != std::string::npos; at = text.find(words, at + 1)) ++n;
    return n;
}

}  // namespace

TEST_CASE("Values of a session read back as they were written") {
    Recording r = recording("r3", 12.5, {720, 576});
    r.hash = std::string(64, 'a');
    r.path = "/somewhere/a file.mp4";
    r.offset = {s(100)};
    r.rotation = Rotation::three_quarters;
    r.interlaced = r.has_sound = true;
    r.zero = -40;
    r.lost = 7;
    r.ears = {{span(0, 5), Ear::left}, {span(5, 12.5), Ear::right}};
    CHECK(json(back(r)) == json(r));

    Event e = event("e9", "pause", 3, Ear::left, "r3");
    e.until = at(4);
    e.attributes = {{"why", "rest"}};
    e.note = "a note";
    e.author = "N. Example";
    e.origin = Origin::suggestion;
    CHECK(json(back(e)) == json(e));

    Suspect x;
    x.id = "x1";
    x.recording = "r3";
    x.kind = SuspectKind::outside;
    x.span = span(1, 2);
    x.track = {{at(1), {1, 2, 3, 4}}};
    x.sureness = 0.75;
    x.spotter = "burnt_text 1";
    x.field = "container: title";
    x.decision = {Verdict::harmless, "a reason", "R. Reviewer"};
    CHECK(json(back(x)) == json(x));
    CHECK(back(x).decision.reason == "a reason");
}

TEST_CASE("What may name a person stands under private, where the library seals it") {
    Recording r = recording();
    r.path = "/home/Brackwater.mp4";
    Event e = event("e1", "advice", 1);
    e.note = "Brackwater";
    e.attributes = {{"topic", "keep dry"}, {"words", "ring Brackwater"}};
    Suspect x;
    x.decision = {Verdict::harmless, "the sign says Brackwater", "R. Reviewer"};
    Scanned watched{"r1", "burnt_text", "watched", span(0, 1), "R. Reviewer", "watched with Brackwater"};
    for (json j : {json(r), json(e), json(x), json(watched)}) {
        INFO(j.dump());
        CHECK(j.contains("private"));
        j.erase("private");
        CHECK(j.dump().find("Brackwater") == std::string::npos);
    }
}

TEST_CASE("A body whose private part was erased still reads") {
    Event e = event("e1", "advice", 1);
    e.note = "gone";
    e.attributes = {{"words", "gone"}};
    json j = e;
    j.erase("private");
    CHECK(j.get<Event>().note.empty());
    json r = recording();
    r.erase("private");
    CHECK(r.get<Recording>().path.empty());
    Suspect x;
    x.decision = {Verdict::harmless, "gone", "R. Reviewer"};
    json k = x;
    k.erase("private");
    CHECK(k.get<Suspect>().decision.verdict == Verdict::harmless);
}

TEST_CASE("Recordings are found by session time, in their gaps there is none") {
    std::vector<Recording> all{recording("r2", 10), recording("r1", 10)};
    all[0].offset = {s(20)};
    order_in_session_time(all);
    CHECK(all[0].id == "r1");
    CHECK(recording_at(all, {s(9.99)})->id == "r1");
    CHECK(recording_at(all, {s(10)}) == nullptr);
    CHECK(recording_at(all, {s(20)})->id == "r2");
    CHECK(recording_at(all, {s(30)}) == nullptr);
    // A span that another session owns is out of reach.
    all[1].only = span(5, 10);
    CHECK(recording_at(all, {s(22)}) == nullptr);
    CHECK(recording_at(all, {s(26)})->id == "r2");
}

TEST_CASE("Setting the side of a span changes that span alone") {
    const std::vector<EarSpan> right{{span(0, 60), Ear::right}};
    CHECK(with_side(right, span(20, 30), Ear::left) == std::vector<EarSpan>{{span(0, 20), Ear::right}, {span(20, 30), Ear::left}, {span(30, 60), Ear::right}});
    CHECK(with_side(with_side(right, span(20, 30), Ear::left), span(20, 30), Ear::right) == right);
    CHECK(with_side({}, span(0, 5), Ear::left) == std::vector<EarSpan>{{span(0, 5), Ear::left}});
    CHECK(with_side(right, span(0, 60), Ear::left) == std::vector<EarSpan>{{span(0, 60), Ear::left}});
}

TEST_CASE("The record tells each ear under its own heading, in order, with counts and times") {
    RecordInput in = session_input();
    for (int i = 0; i < 3; ++i) {
        in.events.push_back(event("e" + std::to_string(i + 1), "piece-removed", 12 + i));
        in.events.back().attributes = {{"material", "hard wax"}};
    }
    in.events.push_back(event("e4", "drum-visible", 70, Ear::left));
    in.events[0].note = "came in one piece";
    const std::string text = session_record(in, ear_care());
    INFO(text);
    const auto right = text.find("RIGHT EAR"), left = text.find("LEFT EAR");
    REQUIRE(right != std::string::npos);
    REQUIRE(left > right);
    CHECK(text.find("3 pieces removed") != std::string::npos);
    CHECK(text.find("Piece removed: hard wax, 3 times (0:12, 0:13, 0:14)") < left);
    CHECK(text.find("Note: came in one piece") < left);
    CHECK(text.find("Drum visible") > left);
    CHECK(text.find("filmed 1:00") != std::string::npos);
    CHECK(text.find(ear_care().caution()) != std::string::npos);
    CHECK(count(text, "DRAFT") == 1);
}

TEST_CASE("A record says who confirmed it and what was changed since: suggestions do not count") {
    RecordInput in = session_input();
    in.session.confirmed_by = "N. Example";
    in.session.confirmed_at = "2026-03-04T09:15:00Z";
    in.later = {{"2026-03-05T08:00:00Z", "O. Other", "delete bleeding"}};
    in.events = {event("e1", "bleeding", 5), event("e2", "perforation", 6)};
    in.events[1].origin = Origin::suggestion;
    const std::string text = session_record(in, ear_care());
    CHECK(text.find("Confirmed by N. Example at 2026-03-04T09:15:00Z") != std::string::npos);
    CHECK(text.find("DRAFT") == std::string::npos);
    CHECK(text.find("O. Other: delete bleeding") != std::string::npos);
    CHECK(text.find("Perforation") == std::string::npos);
    CHECK(text.find("1 suggestion is not accepted") != std::string::npos);
}

TEST_CASE("An empty session's record says that nothing was recorded") {
    const std::string text = session_record(session_input(), ear_care());
    CHECK(count(text, "Nothing recorded.") == 2);
    CHECK(text.find("No event has been tagged yet.") != std::string::npos);
}
