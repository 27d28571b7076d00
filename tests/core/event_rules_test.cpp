#include <catch2/catch.hpp>

#include "app/core/event_rules.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

TEST_CASE("An attribute takes what its type allows and refuses the rest with what would fit") {
    const Vocabulary& v = ear_care();
    struct Row {
        const char *kind, *id, *text;
        bool fits;
    };
    const Row rows[] = {
        {"piece-removed", "material", "hard wax", true},  {"piece-removed", "material", "Hard wax", false},
        {"piece-removed", "material", "gold", false},     {"piece-removed", "size", "3", true},
        {"piece-removed", "size", "0.5", true},           {"piece-removed", "size", "3 mm", false},
        {"piece-removed", "size", "-1", false},           {"piece-removed", "size", "nan", false},
        {"piece-removed", "size", "inf", false},          {"piece-removed", "size", "1e999", false},
        {"bleeding", "stopped", "yes", true},             {"bleeding", "stopped", "true", false},
        {"drum-visible", "clock", "12", true},            {"drum-visible", "clock", "0", false},
        {"drum-visible", "clock", "13", false},           {"drum-visible", "clock", "5.5", false},
        {"drum-visible", "clock", "5 o'clock", false},    {"drum-visible", "depth", "deep", true},
        {"drum-visible", "depth", "very deep", false},    {"advice", "words", "anything: at all, 100 %", true},
    };
    for (const auto& row : rows) {
        Event e = event("e1", row.kind, 1);
        auto done = set_attribute(e, *v.find(row.kind), row.id, row.text);
        INFO(row.kind << " " << row.id << "=" << row.text);
        CHECK(done.ok() == row.fits);
        CHECK(e.attributes.count(row.id) == (row.fits ? 1 : 0));
        if (!row.fits) CHECK(done.failure().trouble == Trouble::wrong_use);
    }
}

TEST_CASE("An attribute the kind does not have is refused by naming those it has") {
    const Vocabulary& v = ear_care();
    Event e = event("e1", "bleeding", 1);
    auto done = set_attribute(e, *v.find("bleeding"), "size", "3");
    REQUIRE_FALSE(done.ok());
    for (const char* known : {"amount", "stopped", "clock", "depth"}) CHECK(done.failure().sentence.find(known) != std::string::npos);
}

TEST_CASE("An empty value takes an attribute away") {
    const Vocabulary& v = ear_care();
    Event e = event("e1", "piece-removed", 1);
    REQUIRE(set_attribute(e, *v.find("piece-removed"), "size", "3").ok());
    REQUIRE(set_attribute(e, *v.find("piece-removed"), "size", "").ok());
    CHECK(e.attributes.empty());
}

TEST_CASE("An event lies in its recording, and only kinds with a length may have an end") {
    const Vocabulary& v = ear_care();
    const Recording r = recording("r1", 60);
    Event e = event("e1", "pause", 10);
    CHECK(check_times(e, *v.find("pause"), r).ok());
    e.until = at(12);
    CHECK(check_times(e, *v.find("pause"), r).ok());
    CHECK_FALSE(check_times(e, *v.find("bleeding"), r).ok());
    e.until = at(10);
    CHECK_FALSE(check_times(e, *v.find("pause"), r).ok());
    e.until = at(61);
    CHECK_FALSE(check_times(e, *v.find("pause"), r).ok());
    CHECK_FALSE(check_times(event("e2", "pause", 60), *v.find("pause"), r).ok());
    // A part of a recording that belongs to somebody else's session is out of reach.
    Recording part = r;
    part.only = span(20, 30);
    CHECK_FALSE(check_times(event("e3", "pause", 19), *v.find("pause"), part).ok());
    CHECK(check_times(event("e4", "pause", 20), *v.find("pause"), part).ok());
}

TEST_CASE("A cone of light where the other ear has it is pointed out, where it belongs it is not") {
    const Vocabulary& v = ear_care();
    const Recording r = recording();
    const EventKind& drum = *v.find("drum-visible");
    const auto count = [&](Ear ear, const char* hour) {
        Recording shown = r;
        shown.ears[0].ear = ear;
        Event e = event("e1", "drum-visible", 1, ear);
        e.attributes["clock"] = hour;
        return warnings_for(e, drum, shown).size();
    };
    CHECK(count(Ear::right, "5") == 0);
    CHECK(count(Ear::right, "7") == 1);
    CHECK(count(Ear::left, "7") == 0);
    CHECK(count(Ear::left, "5") == 1);
    CHECK(count(Ear::right, "6") == 0);  // between the two
}

TEST_CASE("A quadrant that the clock hour contradicts is pointed out with the right one") {
    const Vocabulary& v = ear_care();
    Event e = event("e1", "perforation", 1);
    e.attributes = {{"clock", "4"}, {"quadrant", "postero-inferior"}};
    const auto warnings = warnings_for(e, *v.find("perforation"), recording());
    const auto named = std::any_of(warnings.begin(), warnings.end(), [](const std::string& w) { return w.find("antero-inferior") != std::string::npos; });
    CHECK(named);
    // In the left ear the same words are right.
    Recording left = recording();
    left.ears[0].ear = Ear::left;
    e.ear = Ear::left;
    for (const auto& w : warnings_for(e, *v.find("perforation"), left)) CHECK(w.find("quadrant") == std::string::npos);
}

TEST_CASE("An event that names the other ear than the recording shows is pointed out") {
    const Vocabulary& v = ear_care();
    const auto warnings = warnings_for(event("e1", "bleeding", 1, Ear::left), *v.find("bleeding"), recording());
    REQUIRE(warnings.size() == 1);
    CHECK(warnings[0].find("right") != std::string::npos);
    CHECK(warnings[0].find("left") != std::string::npos);
}

TEST_CASE("Free text goes into the record and never into words for a film") {
    const Vocabulary& v = ear_care();
    Event e = event("e1", "advice", 1);
    e.attributes = {{"topic", "keep dry"}, {"words", "Tell Mrs Brackwater"}, {"clock", "5"}, {"depth", "deep"}};
    e.note = "Brackwater again";
    const EventKind& kind = *v.find("advice");
    CHECK(described(e, kind, FreeText::keep) == "Advice: keep dry, Tell Mrs Brackwater, 5 o'clock, deep");
    CHECK(described(e, kind, FreeText::leave_out) == "Advice: keep dry, 5 o'clock, deep");
}

TEST_CASE("What is unknown leaves no trace in a spoken line") {
    Event e = event("e1", "blockage-found", 1, Ear::left);
    const std::string pattern = "{extent|some} blockage of the {ear} ear[: {material}].";
    CHECK(filled_in(pattern, e) == "some blockage of the left ear.");
    CHECK(filled_in("A piece[ of {material}] comes away.", e) == "A piece comes away.");
    CHECK(filled_in("The {instrument|instrument} goes in.", e) == "The instrument goes in.");
    e.attributes["extent"] = "partial";
    e.attributes["material"] = "soft wax";
    CHECK(filled_in(pattern, e) == "partial blockage of the left ear: soft wax.");
    CHECK(filled_in("", e).empty());
    CHECK(filled_in("no slot {", e) == "no slot {");
}

TEST_CASE("No kind's spoken line limps when nothing is known but the side") {
    for (const auto& kind : ear_care().kinds()) {
        const std::string line = filled_in(kind.says, event("e1", kind.id, 1));
        INFO(kind.id << ": " << line);
        CHECK(line.find_first_of("{}[]|") == std::string::npos);
        for (const char* limp : {" .", ":.", " of comes", "The goes", "to .", "is in the", "given:", "  "}) CHECK(line.find(limp) == std::string::npos);
        CHECK((line.empty() || line.back() == '.'));
    }
    Event other = event("e1", "piece-removed", 1);
    other.attributes["material"] = "other";
    CHECK(filled_in(ear_care().find("piece-removed")->says, other) == "A piece comes away.");
}
