#include <catch2/catch.hpp>

#include "app/core/draft.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

std::vector<Passage> passages(const Plan& plan) {
    std::vector<Passage> out;
    for (const auto& item : plan.items)
        if (const auto* p = std::get_if<Passage>(&item)) out.push_back(*p);
    return out;
}

// What the cards at the end say.
std::vector<std::string> outcome_lines(const Plan& plan) {
    std::vector<std::string> out;
    for (const auto& item : plan.items)
        if (const auto* card = std::get_if<Card>(&item); card && card->role == Card::Role::end) {
            CHECK(card->lines.size() <= 7);  // what fits
            out.insert(out.end(), card->lines.begin(), card->lines.end());
        }
    return out;
}

Plan drafted(const std::vector<Recording>& recordings, const std::vector<Event>& events) {
    auto plan = draft_plan({recordings, events, {}, {}}, ear_care());
    if (!plan) throw std::runtime_error(plan.failure().sentence);
    return *plan;
}

// The right ear for a minute, then the left one.
Recording both_ears() {
    Recording r = recording("r1", 120);
    r.ears = {{span(0, 60), Ear::right}, {span(60, 120), Ear::left}};
    return r;
}

bool shown(const Plan& plan, double seconds, const std::string& in = "r1") {
    for (const auto& p : passages(plan))
        if (p.recording == in && p.span.holds(at(seconds))) return true;
    return false;
}

}  // namespace

TEST_CASE("A draft keeps every outcome and every referral") {
    const Vocabulary& v = ear_care();
    for (const auto& kind : v.kinds()) {
        if (kind.heading != Heading::outcome && !kind.refers) continue;
        INFO(kind.id);
        const Plan plan = drafted({recording()}, {event("e1", "bleeding", 5), event("e2", kind.id, 40)});
        CHECK(shown(plan, 40));
        const auto lines = outcome_lines(plan);
        CHECK(std::any_of(lines.begin(), lines.end(), [&](const std::string& l) { return l.find(kind.name) != std::string::npos; }));
    }
}

TEST_CASE("However many outcomes there are, the cards at the end tell all of them") {
    std::vector<Event> events;
    const char* const topics[] = {"keep dry", "no cotton tips", "drops at home", "come back if worse", "hearing protection", "other"};
    for (int i = 0; i < 6; ++i) {
        events.push_back(event("e" + std::to_string(i + 1), "advice", 5 + i));
        events.back().attributes["topic"] = topics[i];
    }
    events.push_back(event("e7", "referral", 30));
    const auto lines = outcome_lines(drafted({recording()}, events));
    for (const char* topic : topics) CHECK(std::any_of(lines.begin(), lines.end(), [&](const std::string& l) { return l.find(topic) != std::string::npos; }));
    CHECK(std::any_of(lines.begin(), lines.end(), [](const std::string& l) { return l.find("Referral") != std::string::npos; }));
}

TEST_CASE("Both ears are told in order and no passage mixes them") {
    const std::vector<Event> events{event("e1", "drum-visible", 59.5), event("e2", "blockage-found", 61, Ear::left), event("e3", "canal-clear", 100, Ear::left)};
    const Recording r = both_ears();
    const auto all = passages(drafted({r}, events));
    bool right = false, left = false;
    RecordingTime last{-1};
    for (const auto& p : all) {
        (p.ear == Ear::right ? right : left) = true;
        for (const auto& e : r.ears)
            if (e.span.meets(p.span)) CHECK(e.ear == p.ear);
        CHECK(p.span.start >= last);
        last = p.span.end;
        for (const auto& line : p.narration) CHECK(line.text.find(p.ear == Ear::right ? "left ear" : "right ear") == std::string::npos);
    }
    CHECK(right);
    CHECK(left);
}

TEST_CASE("What was filmed blind is left out, from the smear to the wipe") {
    const Plan plan = drafted({recording()}, {event("e1", "drum-visible", 10), event("e2", "lens-smeared", 11), event("e3", "lens-wiped", 14),
                                              event("e4", "piece-removed", 15), event("e5", "scope-out", 30), event("e6", "bleeding", 31)});
    CHECK(shown(plan, 10));
    for (double t = 11.01; t < 14; t += 0.1) CHECK_FALSE(shown(plan, t));
    CHECK(shown(plan, 15));
    // Never back in: nothing after it can be seen.
    for (double t = 30.01; t < 60; t += 0.5) CHECK_FALSE(shown(plan, t));
}

TEST_CASE("What lies next to a time out of the ear goes with it, unless something is told there") {
    const Plan plan = drafted({recording()}, {event("e1", "drum-visible", 8), event("e2", "scope-out", 10), event("e3", "scope-in", 20), event("e4", "bleeding", 22),
                                              event("e5", "scope-out", 25), event("e6", "scope-in", 30), event("e7", "canal-clear", 30.25)});
    CHECK(shown(plan, 8.9));
    for (double t = 9.1; t < 20.9; t += 0.1) CHECK_FALSE(shown(plan, t));
    CHECK(shown(plan, 21.1));
    CHECK(shown(plan, 30.1));
}

TEST_CASE("A glimpse in which nothing is told is no passage, but beside an outcome that cannot be seen it is") {
    const auto plan_with = [](const char* kind) {
        return drafted({recording()}, {event("e1", "lens-smeared", 19.75), event("e2", kind, 20), event("e3", "lens-wiped", 24), event("e4", "drum-visible", 40)});
    };
    const Plan unseen = plan_with("instrument-in"), outcome = plan_with("canal-clear");
    CHECK_FALSE(shown(unseen, 18.5));
    CHECK(shown(unseen, 40));
    CHECK(shown(outcome, 18.5));
}

TEST_CASE("Two causes of blindness end each by itself") {
    const Plan plan = drafted({recording()}, {event("e1", "drum-visible", 5), event("e2", "scope-out", 10), event("e3", "lens-wiped", 12), event("e4", "scope-in", 20),
                                              event("e5", "canal-clear", 21)});
    for (double t = 10.01; t < 20; t += 0.25) CHECK_FALSE(shown(plan, t));
    CHECK(shown(plan, 21));
}

TEST_CASE("The same events give the same plan, in whatever order they are handed over") {
    std::vector<Event> events{event("e1", "blockage-found", 4), event("e2", "piece-removed", 12), event("e3", "drum-visible", 30), event("e4", "canal-clear", 33), event("e5", "advice", 33)};
    const std::string plan = plan_to_json(drafted({recording()}, events));
    CHECK(plan_to_json(drafted({recording()}, events)) == plan);
    std::reverse(events.begin(), events.end());
    CHECK(plan_to_json(drafted({recording()}, events)) == plan);
}

TEST_CASE("A session without events gives no plan but a sentence that says what to do") {
    for (const std::vector<Event>& events : {std::vector<Event>{}, {event("e1", "instrument-out", 5)}}) {
        auto plan = draft_plan({{recording()}, events, {}, {}}, ear_care());
        REQUIRE_FALSE(plan.ok());
        CHECK(plan.failure().trouble == Trouble::wrong_use);
        CHECK(plan.failure().sentence.find("canalogue tag") != std::string::npos);
    }
}

TEST_CASE("Free text and notes never get into a draft") {
    Event e = event("e1", "advice", 10);
    e.attributes = {{"topic", "keep dry"}, {"words", "Brackwater"}};
    e.note = "Brackwater";
    CHECK(plan_to_json(drafted({recording()}, {e})).find("Brackwater") == std::string::npos);
}

TEST_CASE("A landmark is held, a long stretch is quickened but never beyond three times") {
    std::vector<Event> events{event("e1", "drum-visible", 30)};
    auto all = passages(drafted({recording()}, events));
    REQUIRE(all.size() == 1);
    REQUIRE(all[0].holds.size() == 1);
    CHECK(all[0].holds[0].at == at(30));
    for (int i = 0; i < 100; ++i) events.push_back(event("e" + std::to_string(i + 2), "piece-removed", 1 + i * 2));
    Recording r = recording("r1", 300);
    for (const auto& p : passages(drafted({r}, events))) {
        CHECK(p.pace <= 3.0);
        CHECK(p.pace >= 1.0);
    }
}

TEST_CASE("A draft reads back as a plan and nothing in it lies outside its recording") {
    Recording part = recording("r1", 60);
    part.only = span(20, 40);
    part.ears = {{part.only, Ear::right}};
    const Plan plan = drafted({part}, {event("e1", "canal-clear", 20.5), event("e2", "referral", 39.5)});
    auto back = plan_from_json(plan_to_json(plan));
    REQUIRE(back.ok());
    CHECK(plan_to_json(*back) == plan_to_json(plan));
    for (const auto& p : passages(plan)) {
        CHECK(p.span.start >= part.only.start);
        CHECK(p.span.end <= part.only.end);
        for (const auto& l : p.labels) CHECK(l.until <= p.span.end);
        for (std::size_t i = 0; i + 1 < p.labels.size(); ++i) CHECK(p.labels[i].until <= p.labels[i + 1].from + kMillisecond);
    }
}
