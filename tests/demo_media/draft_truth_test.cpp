#include <catch2/catch.hpp>

#include <fstream>

#include "app/desk/drafting.hpp"
#include "demo_media/script.hpp"

using namespace canalogue;

namespace {

Vocabulary ear_care() {
    std::ifstream in(CANALOGUE_SOURCE_DIR "/plugins/ear_care/vocabulary.json");
    auto v = Vocabulary::parse({std::istreambuf_iterator<char>(in), {}});
    REQUIRE(v.ok());
    return *v;
}

double seconds_of(Nanos t) { return static_cast<double>(t) / kSecond; }
RecordingTime at(double seconds) { return {nanos_from_seconds(seconds)}; }

// Two recordings of a drawn session, and the events that their script tells, tagged late as people do.
struct Truth {
    std::vector<demo::Script> scripts;
    DraftMaterial material;
};

Truth session_of(int number) {
    Truth t;
    t.scripts = {demo::right_ear(30 + 4.0 * number), demo::left_ear(18 + 2.5 * number)};
    int id = 0;
    for (const auto& script : t.scripts) {
        Recording r;
        r.id = "r" + std::to_string(t.material.recordings.size() + 1);
        r.only = {{0}, at(script.seconds)};
        const Ear ear = script.ear == demo::Ear::right ? Ear::right : Ear::left;
        r.ears = {{r.only, ear}};
        for (const auto& h : script.happenings) {
            Event e;
            e.id = "e" + std::to_string(++id);
            e.kind = h.kind, e.ear = ear, e.recording = r.id;
            e.at = at(std::min(h.start + 0.02 * (number + id % 7), script.seconds - 0.1));
            for (const auto& [key, value] : h.attributes) e.attributes[key] = value;
            t.material.events.push_back(e);
        }
        // As spotters and gauges find it: nobody tags it, and it is a little off.
        for (const auto& o : script.outside) t.material.unseen[r.id].push_back({at(std::max(0.0, o.start + 0.15)), at(std::max(0.0, o.end - 0.15))});
        t.material.recordings.push_back(r);
    }
    return t;
}

double blind_seconds(const demo::Script& script, const RecordingSpan& shown) {
    double out = 0;
    const auto add = [&](const demo::Stretch& s) { out += std::max(0.0, std::min(s.end, seconds_of(shown.end.ns)) - std::max(s.start, seconds_of(shown.start.ns))); };
    for (const auto& s : script.smear) add(s);
    for (const auto& s : script.outside) add(s);
    return out;
}

}  // namespace

namespace {

// Every outcome and referral is told, the ears are in order and never mixed, hardly anything blind is shown, and no piece
// is cut off while it is pulled.
void keeps_its_promises(const Plan& plan, const Truth& truth, const Vocabulary& v) {
    double shown = 0, blind = 0;
    std::string told;
    std::vector<const Passage*> passages;
    for (const auto& item : plan.items) {
        if (const auto* card = std::get_if<Card>(&item))
            for (const auto& line : card->lines) told += line + "\n";
        else passages.push_back(&std::get<Passage>(item));
    }
    for (const auto* p : passages) {
        const auto& script = truth.scripts[p->recording == "r1" ? 0 : 1];
        CHECK(p->ear == (p->recording == "r1" ? Ear::right : Ear::left));
        shown += seconds_of(p->span.length());
        blind += blind_seconds(script, p->span);
        for (const auto& pull : script.pulls)
            for (const RecordingTime cut : {p->span.start, p->span.end}) {
                INFO("cut at " << format_time(cut.ns) << " in " << p->recording);
                CHECK_FALSE((at(pull.grip) < cut && cut < at(pull.gone)));
            }
    }
    INFO("blind " << blind << " of " << shown);
    CHECK(blind <= 0.02 * shown);
    for (std::size_t i = 0; i + 1 < passages.size(); ++i)
        CHECK(std::pair(passages[i]->recording, passages[i]->span.end) <= std::pair(passages[i + 1]->recording, passages[i + 1]->span.start));
    for (const auto& e : truth.material.events) {
        const EventKind* kind = v.find(e.kind);
        if (!kind || (kind->heading != Heading::outcome && !kind->refers)) continue;
        CHECK(told.find(kind->name) != std::string::npos);
    }
}

}  // namespace

TEST_CASE("Drafts of ten drawn sessions, from the barest to the fullest, keep every outcome and show hardly anything blind") {
    const Vocabulary v = ear_care();
    for (int number = 0; number < 10; ++number)
        for (const auto& shape : draft_shapes()) {
            const Truth truth = session_of(number);
            const auto plan = draft_plan(truth.material, v, shape);
            INFO("session " << number << ", share " << shape.share << ", lead " << seconds_of(shape.lead));
            REQUIRE(plan.ok());
            keeps_its_promises(*plan, truth, v);
        }
}

TEST_CASE("Drafts of ten drawn sessions are as long as they were wanted, twice each, and keep the same promises") {
    const Vocabulary v = ear_care();
    for (int number = 0; number < 10; ++number)
        for (const double wanted : {60.0, 85.0}) {
            const Truth truth = session_of(number);
            const auto drafted = desk::draft_of_length(truth.material, v, nanos_from_seconds(wanted), {});
            INFO("session " << number << ", wanted " << wanted << " s" << (drafted ? "" : drafted.failure().sentence));
            REQUIRE(drafted.ok());
            CHECK(seconds_of(drafted->length) == Approx(wanted).epsilon(0.05));
            keeps_its_promises(drafted->plan, truth, v);
        }
}

TEST_CASE("Where the barest draft would tell of nothing, a wanted length is met by a fuller one") {
    const Vocabulary v = ear_care();
    Truth truth = session_of(3);
    std::erase_if(truth.material.events, [](const Event& e) { return e.kind != "piece-removed"; });
    REQUIRE(truth.material.events.size() > 2);
    REQUIRE_FALSE(draft_plan(truth.material, v, draft_shapes().front()).ok());
    const auto drafted = desk::draft_of_length(truth.material, v, 40 * kSecond, {});
    INFO((drafted ? "" : drafted.failure().sentence));
    REQUIRE(drafted.ok());
    CHECK(seconds_of(drafted->length) == Approx(40).epsilon(0.05));
}

TEST_CASE("A length that no film of the session can have is refused with what is possible") {
    const Vocabulary v = ear_care();
    for (const double wanted : {4.0, 3600.0}) {
        const auto drafted = desk::draft_of_length(session_of(3).material, v, nanos_from_seconds(wanted), {});
        REQUIRE_FALSE(drafted.ok());
        CHECK(drafted.failure().sentence.find("drafts of it are between") != std::string::npos);
    }
}
