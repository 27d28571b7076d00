#include <catch2/catch.hpp>

#include <nlohmann/json.hpp>
#include <set>

#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;
using nlohmann::json;

namespace {

// The shipped vocabulary with one thing changed.
Result<Vocabulary> with(const std::function<void(json&)>& change) {
    json j = json::parse(ear_care_text());
    change(j);
    return Vocabulary::parse(j.dump());
}

}  // namespace

TEST_CASE("The ear-care vocabulary parses and every kind can be told apart without colour") {
    const Vocabulary& v = ear_care();
    CHECK(v.id() == "ear_care");
    CHECK_FALSE(v.caution().empty());
    REQUIRE(v.kinds().size() > 20);
    std::set<std::pair<std::string, std::string>> looks;
    for (const auto& k : v.kinds()) {
        INFO(k.id);
        CHECK_FALSE(k.name.empty());
        CHECK_FALSE(k.symbol.shape.empty());
        CHECK_FALSE(k.symbol.letter.empty());
        CHECK(k.symbol.colour.size() == 7);
        CHECK(looks.insert({k.symbol.shape, k.symbol.letter}).second);  // shape and letter together are its own
    }
}

TEST_CASE("Every kind has a key of its own") {
    const Vocabulary& v = ear_care();
    std::set<std::string> keys;
    for (const auto& k : v.kinds()) {
        INFO(k.id);
        CHECK_FALSE(k.key.empty());
        CHECK(keys.insert(k.key).second);
    }
}

// Okabe and Ito's palette (2002); the light grey-green stands in for black on a dark ground.
TEST_CASE("Colours of kinds are those of the Okabe-Ito palette") {
    const std::set<std::string> palette{"#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7", "#D9E4E2"};
    for (const auto& k : ear_care().kinds()) {
        INFO(k.id << " " << k.symbol.colour);
        CHECK(palette.count(k.symbol.colour) == 1);
    }
}

TEST_CASE("Whatever makes the view blind has an event that ends it") {
    const Vocabulary& v = ear_care();
    for (const auto& k : v.kinds()) {
        if (k.blind.empty()) continue;
        const auto ended = std::any_of(v.kinds().begin(), v.kinds().end(), [&](const EventKind& o) { return o.sighted == k.blind; });
        INFO(k.id);
        CHECK(ended);
    }
}

TEST_CASE("Words to be spoken use only attributes that the kind has") {
    for (const auto& k : ear_care().kinds())
        for (std::size_t open = k.says.find('{'); open != std::string::npos; open = k.says.find('{', open + 1)) {
            const std::string id = k.says.substr(open + 1, k.says.find_first_of("|}", open) - open - 1);
            INFO(k.id << ": {" << id << "}");
            CHECK((id == "ear" || k.attribute(id)));
        }
}

TEST_CASE("A broken vocabulary is refused with the place of the fault") {
    struct Row {
        std::function<void(json&)> change;
        const char *place, *fault;
    };
    const Row rows[] = {
        {[](json& j) { j.erase("id"); }, "the vocabulary", "'id' is missing"},
        {[](json& j) { j["kinds"][0].erase("name"); }, "kind 'blockage-found'", "'name' is missing"},
        {[](json& j) { j["kinds"][0]["name"] = 3; }, "kind 'blockage-found'", "'name' must be text"},
        {[](json& j) { j["kinds"][1]["heading"] = "middle"; }, "kind 'instrument-in'", "no heading 'middle'"},
        {[](json& j) { j["kinds"][0].erase("symbol"); }, "kind 'blockage-found'", "'symbol' is missing"},
        {[](json& j) { j["kinds"][0]["symbol"]["shape"] = "star"; }, "kind 'blockage-found'", "no shape 'star'"},
        {[](json& j) { j["kinds"][0]["symbol"]["letter"] = "ABC"; }, "kind 'blockage-found'", "'letter'"},
        {[](json& j) { j["kinds"][0]["symbol"]["colour"] = "red"; }, "kind 'blockage-found'", "'colour'"},
        {[](json& j) { j["kinds"][0]["attributes"][0]["type"] = "colour"; }, "attribute 'extent'", "no type 'colour'"},
        {[](json& j) { j["kinds"][0]["attributes"][0].erase("choices"); }, "attribute 'extent'", "a choice needs 'choices'"},
        {[](json& j) { j["kinds"][1]["id"] = "blockage-found"; }, "kind 'blockage-found'", "used twice"},
        {[](json& j) { j["kinds"][1]["key"] = "1"; }, "kind 'instrument-in'", "the key '1' is used twice"},
    };
    for (const auto& row : rows) {
        auto v = with(row.change);
        INFO(row.place << ", " << row.fault);
        REQUIRE_FALSE(v.ok());
        CHECK(v.failure().trouble == Trouble::wrong_use);
        CHECK(v.failure().sentence.find(row.place) != std::string::npos);
        CHECK(v.failure().sentence.find(row.fault) != std::string::npos);
    }
}

TEST_CASE("A vocabulary of the wrong types or no JSON at all is refused, never a crash") {
    for (const char* text : {"", "{", "[]", "3", "null", R"({"id":"a","name":"b","version":"1"})", R"({"id":"a","name":"b","version":"1","kinds":3})",
                             R"({"id":"a","name":"b","version":"1","kinds":[3]})", R"({"id":"a","name":"b","version":"1","kinds":[{"id":"k","name":"n","heading":"done","span":"yes"}]})"}) {
        INFO(text);
        CHECK_FALSE(Vocabulary::parse(text).ok());
    }
}

TEST_CASE("A mistyped kind is answered with the nearest one") {
    const Vocabulary& v = ear_care();
    for (const auto& [typed, meant] : {std::pair{"drum-visable", "drum-visible"}, {"peice-removed", "piece-removed"}, {"referal", "referral"}, {"canalclear", "canal-clear"}}) {
        auto kind = v.named(typed);
        INFO(typed);
        REQUIRE_FALSE(kind.ok());
        CHECK(kind.failure().sentence.find(std::string("did you mean '") + meant + "'") != std::string::npos);
    }
    REQUIRE(v.named("bleeding").ok());
    CHECK((*v.named("bleeding"))->heading == Heading::comfort);
}
