#include <catch2/catch.hpp>

#include <nlohmann/json.hpp>
#include <cstring>
#include <regex>
#include <set>
#include <sstream>

#include "export/sidecars.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;
using nlohmann::json;

namespace {

// The W3C's rules for a cue's timing line: hours of two or more digits, minutes and seconds below 60,
// three decimals after a full stop, blanks around the arrow, the end later than the start.
bool good_timing(const std::string& line) {
    static const std::regex kForm(R"((?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})[ \t]+-->[ \t]+(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3}))");
    std::smatch m;
    if (!std::regex_match(line, m, kForm)) return false;
    const auto ms = [&](std::size_t i) { return ((m[i].matched ? std::stoll(m[i]) : 0) * 3600 + std::stoll(m[i + 1]) * 60 + std::stoll(m[i + 2])) * 1000 + std::stoll(m[i + 3]); };
    return ms(5) > ms(1);
}

// Faults of a WebVTT text by those rules.
std::vector<std::string> faults(const std::string& vtt) {
    std::vector<std::string> out;
    if (!vtt.starts_with("WEBVTT\n\n") && vtt != "WEBVTT\n") out.push_back("header");
    std::istringstream in(vtt);
    bool payload = false;
    for (std::string line; std::getline(in, line);) {
        if (line.find("-->") != std::string::npos) {
            if (payload) out.push_back("an arrow in a payload");
            if (!good_timing(line)) out.push_back(line);
            payload = true;
        } else if (line.empty()) {
            payload = false;
        } else if (payload && (line.find('<') != std::string::npos || std::regex_search(line, std::regex("&(?!amp;|lt;|gt;)")))) {
            out.push_back("not escaped: " + line);
        }
    }
    return out;
}

struct Told {
    Told() {
        const auto& v = ear_care();
        events = {event("e1", "drum-visible", 1), event("e2", "advice", 2, Ear::left), event("e3", "blockage-found", 3)};
        events[0].attributes = {{"clock", "5"}, {"depth", "deep"}, {"view", "all"}};
        events[1].attributes = {{"topic", "keep dry"}, {"words", "Brackwater, \"the\" <b>"}};
        events[1].note = "Brackwater";
        events[1].author = "N. Example";
        for (std::size_t i = 0; i < events.size(); ++i) timed.push_back({&events[i], v.find(events[i].kind), s(12.4 * static_cast<double>(i + 1)), s(12.4 * static_cast<double>(i + 1) + 1)});
    }
    std::vector<Event> events;
    std::vector<TimedEvent> timed;
};

}  // namespace

TEST_CASE("The rules for timing lines tell the published good from the bad") {
    CHECK(good_timing("00:59.999 --> 01:00:00.000"));
    CHECK(good_timing("01:00:00.000 --> 100:00:00.000"));
    for (const char* bad : {"1:00:00.000 --> 02:00:00.000", "00:60.000 --> 02:00.000", "00:01,000 --> 00:02.000", "00:01.00 --> 00:02.000", "00:05.000 --> 00:05.000", "00:01.000-->00:02.000"}) {
        INFO(bad);
        CHECK_FALSE(good_timing(bad));
    }
}

TEST_CASE("Captions follow the W3C's rules whatever is said in them") {
    const std::vector<Cue> cues{{{{0}, {s(1.2345)}}, {"Wax & <skin>", "a --> b"}},
                                {{{s(59.9996)}, {s(61)}}, {"over the minute\nand \r on"}},
                                {{{s(3600)}, {s(3600)}}, {"no length"}},
                                {{{s(360000)}, {s(360001)}}, {"a hundred hours"}}};
    const std::string vtt = captions_vtt(cues);
    INFO(vtt);
    CHECK(faults(vtt).empty());
    CHECK(vtt.find("Wax &amp; &lt;skin&gt;") != std::string::npos);
    CHECK(vtt.find("00:01:00.000 --> 00:01:01.000") != std::string::npos);
    CHECK(captions_vtt({}).starts_with("WEBVTT"));
}

TEST_CASE("Chapters follow one another without overlap to the end of the film") {
    const std::string vtt = chapters_vtt({{{0}, "Start"}, {{s(4)}, "Right ear: Drum & canal"}, {{s(20)}, "Outcome"}}, s(30));
    CHECK(faults(vtt).empty());
    CHECK(vtt.find("00:00:00.000 --> 00:00:04.000") != std::string::npos);
    CHECK(vtt.find("00:00:04.000 --> 00:00:20.000") != std::string::npos);
    CHECK(vtt.find("00:00:20.000 --> 00:00:30.000") != std::string::npos);
}

TEST_CASE("An event track holds one JSON object a cue") {
    const Told t;
    const std::string vtt = events_vtt(t.timed);
    CHECK(faults(vtt).empty());
    std::istringstream in(vtt);
    int objects = 0;
    for (std::string line; std::getline(in, line);)
        if (line.starts_with("{")) {
            for (const auto& [coded, plain] : {std::pair{"&lt;", "<"}, {"&gt;", ">"}, {"&amp;", "&"}})
                for (auto at = line.find(coded); at != std::string::npos; at = line.find(coded)) line.replace(at, std::strlen(coded), plain);
            const json j = json::parse(line);
            for (const char* field : {"kind", "ear", "words"}) CHECK(j.contains(field));
            ++objects;
        }
    CHECK(objects == 3);
}

// Web Annotation Data Model (W3C Recommendation, 2017) and Media Fragments URI 1.0 (2012).
TEST_CASE("Events are Web Annotations with Media Fragment selectors on the film") {
    const Told t;
    const json all = json::parse(events_jsonld(t.timed, ear_care(), "clip.mp4", "en-GB"));
    REQUIRE(all.size() == 3);
    std::set<std::string> ids;
    for (const auto& a : all) {
        CHECK(a["@context"] == "http://www.w3.org/ns/anno.jsonld");
        CHECK(a["type"] == "Annotation");
        CHECK(a["motivation"] == "classifying");
        const std::string id = a["id"];
        CHECK(id.find(':') != std::string::npos);  // an IRI
        CHECK(ids.insert(id).second);
        CHECK(a["target"]["source"] == "clip.mp4");
        const json& selector = a["target"]["selector"];
        CHECK(selector["type"] == "FragmentSelector");
        CHECK(selector["conformsTo"] == "http://www.w3.org/TR/media-frags/");
        CHECK(std::regex_match(selector["value"].get<std::string>(), std::regex(R"(t=\d+(\.\d+)?,\d+(\.\d+)?)")));
        for (const auto& body : a["body"]) {
            CHECK((body["type"] == "TextualBody" || body["type"] == "SpecificResource"));
            CHECK(body.contains(body["type"] == "TextualBody" ? "value" : "source"));
        }
        CHECK_FALSE(a.contains("created"));
        CHECK_FALSE(a.contains("creator"));
    }
    CHECK(all[0]["target"]["selector"]["value"] == "t=12.4,13.4");
}

TEST_CASE("No sidecar holds free text, notes or the author") {
    const Told t;
    for (const std::string& text : {events_vtt(t.timed), events_jsonld(t.timed, ear_care(), "clip.mp4", "en-GB"), events_csv(t.timed)})
        for (const char* secret : {"Brackwater", "N. Example"}) CHECK(text.find(secret) == std::string::npos);
}

// RFC 4180.
TEST_CASE("A table field with commas or quotes reads back as one field") {
    const Told t;
    const std::string csv = events_csv(t.timed);
    std::vector<std::vector<std::string>> rows(1, {""});
    bool inside = false;
    for (std::size_t i = 0; i < csv.size(); ++i) {
        const char c = csv[i];
        if (inside && c == '"' && csv[i + 1] == '"') rows.back().back() += '"', ++i;
        else if (c == '"') inside = !inside;
        else if (inside) rows.back().back() += c;
        else if (c == ',') rows.back().push_back("");
        else if (c == '\r' && csv[i + 1] == '\n') ++i, rows.push_back({""});
        else rows.back().back() += c;
    }
    CHECK_FALSE(inside);
    rows.pop_back();
    REQUIRE(rows.size() == 4);
    for (const auto& row : rows) CHECK(row.size() == rows[0].size());
    CHECK(rows[1].back() == "Drum visible: all, 5 o'clock, deep");
    CHECK(rows[1][0] == "12.4");
    CHECK(rows[2][2] == "left");
}

TEST_CASE("Media-fragment numbers are plain seconds without needless zeros") {
    for (const auto& [ns, text] : std::vector<std::pair<Nanos, std::string>>{{0, "0"}, {s(12.4), "12.4"}, {s(38), "38"}, {s(100), "100"}, {s(0.25), "0.25"}, {s(61.0004), "61"}, {s(61.0005), "61.001"}, {s(7.05), "7.05"}, {-5, "0"}})
        CHECK(npt(ns) == text);
}
