#include <catch2/catch.hpp>
#include <map>

#include "app/core/cover.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

Suspect text_at(UprightBox box, double from = 10, double until = 20) {
    Suspect x;
    x.id = "x1";
    x.recording = "r1";
    x.kind = SuspectKind::text;
    x.span = span(from, until);
    x.track = {{x.span.start, box}};
    return x;
}

std::vector<StoredBox> boxes(const Recording& r, const Suspect& x, double from, double until) {
    return covers_for(r, {x}, {}).boxes_during(span(from, until), r.stored);
}

const std::map<std::string, std::string> kVersions{{"burnt_text", "1"}, {"outside", "1"}, {"faces", "1"}, {"speech", "1"}, {"file_fields", "1"}};

Scanned done_by(const std::string& spotter, RecordingSpan s, const std::string& version = "1") { return {"r1", spotter, version, s, "", ""}; }

}  // namespace

TEST_CASE("A cover reaches beyond its suspect by more than source coding smears, on every side") {
    for (Size size : {Size{1920, 1080}, {1280, 720}, {720, 576}, {640, 360}, {320, 240}}) {
        const Recording r = recording("r1", 60, size);
        const UprightBox box{size.w / 3, size.h / 3, size.w / 5, size.h / 20};
        const auto found = boxes(r, text_at(box), 12, 12.04);
        REQUIRE(found.size() == 1);
        INFO(size.w << "x" << size.h);
        const int margin = smear_margin(size);
        CHECK(margin >= 8);
        CHECK(found[0].x <= box.x - margin);
        CHECK(found[0].y <= box.y - margin);
        CHECK(found[0].right() >= box.right() + margin);
        CHECK(found[0].bottom() >= box.bottom() + margin);
    }
    CHECK(smear_margin({1920, 1080}) == 16);
}

TEST_CASE("Edges of covers lie on whole coding blocks and inside the picture") {
    const Recording r = recording("r1", 60, {1920, 1080});
    for (int x = 0; x < 1900; x += 37)
        for (int y = 0; y < 1060; y += 41) {
            const auto found = boxes(r, text_at({x, y, 53, 21}), 12, 12.04);
            REQUIRE(found.size() == 1);
            const StoredBox& b = found[0];
            REQUIRE(StoredBox{0, 0, 1920, 1080}.holds(b));
            REQUIRE(b.x % 16 == 0);
            REQUIRE(b.y % 16 == 0);
            REQUIRE((b.right() % 16 == 0 || b.right() == 1920));
            REQUIRE((b.bottom() % 16 == 0 || b.bottom() == 1080));
        }
}

TEST_CASE("A cover does not tell how long a name is, nor which of twenty it hides") {
    // A header at 1080 lines, 15 to 30 pixels a letter. Names are invented.
    const char* const names[] = {"Ash", "Bo Vell", "T. Wick", "Greta Tidewell", "Osbert Quillon", "Tamsin Nettlefold", "I. Marl", "Edda Cray", "Una Thrope", "Jory Penhallow", "Ansel Bright", "Lowen Carrick", "M. Stannard", "Wilf Oddie",
                                 "Peg Larkin", "Rufus Amberley", "Dot Finch", "Cuthbert Sayle", "Ivo Ransome", "Hal Winterbourne"};
    const Recording r = recording();
    for (const int letter : {15, 24}) {
        std::map<std::vector<StoredBox>, int> told;
        for (const auto* name : names) ++told[boxes(r, text_at({40, 40, letter * static_cast<int>(std::string(name).size()), 36}), 12, 12.04)];
        // Who knows every name's cover can name one of twenty: as good as a guess.
        CHECK(told.size() == 1);
    }
    // Turned by a quarter, the same along the other side.
    CHECK(boxes(r, text_at({40, 40, 36, 24 * 4}), 12, 12.04) == boxes(r, text_at({40, 40, 36, 24 * 8}), 12, 12.04));
    // What is longer than a quarter of the picture tells that it is, and no more.
    CHECK(boxes(r, text_at({40, 40, 600, 36}), 12, 12.04) == boxes(r, text_at({40, 40, 900, 36}), 12, 12.04));
}

TEST_CASE("Times of covers are widened and snapped, so that a word's moment is not told") {
    const Recording r = recording();
    const auto spans = [&](double from, double until) { return covers_for(r, {text_at({100, 100, 50, 50}, from, until)}, {}).picture[0].span; };
    CHECK(spans(10.30, 12.10) == spans(10.40, 12.20));
    for (double from = 5; from < 7; from += 0.07) {
        const RecordingSpan c = spans(from, from + 1.3);
        CHECK(c.start.ns % (kSecond / 2) == 0);
        CHECK(c.end.ns % (kSecond / 2) == 0);
        CHECK(c.start <= at(from) - kSecond / 4);
        CHECK(c.end >= at(from + 1.3) + kSecond / 4);
    }
    CHECK(spans(0, 60) == r.only);  // never beyond the recording
}

TEST_CASE("Only a decision uncovers, and it uncovers its own suspect alone") {
    const Recording r = recording();
    Suspect open = text_at({100, 100, 200, 40}), judged = text_at({900, 700, 200, 40});
    judged.id = "x2";
    CHECK(covers_for(r, {open, judged}, {}).picture.size() == 2);
    judged.decision = {Verdict::harmless, "tool scale", "R. Reviewer"};
    const auto one = covers_for(r, {open, judged}, {});
    REQUIRE(one.picture.size() == 1);
    CHECK(one.picture[0].box.holds({100, 100, 200, 40}));
    CHECK_FALSE(one.picture[0].box.meets({900, 700, 200, 40}));
    // Judged harmless where it lies on top of one that is not: the other still covers.
    Suspect same = open;
    same.id = "x3";
    same.decision = judged.decision;
    CHECK(covers_for(r, {open, same}, {}).picture == covers_for(r, {open}, {}).picture);
}

TEST_CASE("A span that a required spotter has not finished is wholly covered and hushed") {
    const Recording r = recording();
    REQUIRE(required_spotters().size() >= 2);
    std::vector<Scanned> scanned;
    for (const auto& spotter : required_spotters()) scanned.push_back(done_by(spotter, span(0, 60)));
    CHECK(unscanned(r, scanned, kVersions).empty());

    SECTION("one spotter is missing altogether") {
        scanned.pop_back();
        const auto gaps = unscanned(r, scanned, kVersions);
        REQUIRE(gaps.size() == 1);
        CHECK(gaps[0].span == r.only);
        const Covers c = covers_for(r, {}, gaps);
        CHECK(c.whole_during(span(0, 0.04)));
        CHECK(c.whole_during(span(59.9, 60)));
        CHECK(c.boxes_during(span(30, 30.04), r.stored) == std::vector<StoredBox>{{0, 0, 1920, 1080}});
        CHECK(c.hushed == std::vector{r.only});
    }
    SECTION("one stopped half way") {
        scanned[0].span = span(0, 30);
        const Covers c = covers_for(r, {}, unscanned(r, scanned, kVersions));
        CHECK_FALSE(c.whole_during(span(20, 20.04)));
        CHECK(c.whole_during(span(30, 30.04)));
        CHECK(c.hushed.back().end == r.only.end);
    }
    SECTION("one was an older version") {
        scanned[0].version = "0";
        CHECK(covers_for(r, {}, unscanned(r, scanned, kVersions)).whole_during(span(10, 11)));
    }
    SECTION("one is not installed") {
        CHECK_FALSE(unscanned(r, scanned, {{"burnt_text", "1"}}).empty());
    }
    SECTION("a person watched instead") {
        scanned[0].version = "watched";
        CHECK(unscanned(r, scanned, {}).size() == required_spotters().size() - 1);
    }
    SECTION("another recording was scanned") {
        for (auto& s : scanned) s.recording = "r2";
        CHECK(unscanned(r, scanned, kVersions).size() == required_spotters().size());
    }
}

TEST_CASE("A suspect that moves is covered everywhere between the places it was seen at") {
    const Recording r = recording();
    Suspect x = text_at({100, 100, 100, 40}, 10, 20);
    x.track = {{at(10), {100, 100, 100, 40}}, {at(20), {1500, 900, 100, 40}}};
    const Covers c = covers_for(r, {x}, {});
    for (double t = 10; t < 20; t += 0.04) {
        const double k = (t - 10) / 10;
        const StoredBox here{100 + static_cast<int>(1400 * k), 100 + static_cast<int>(800 * k), 100, 40};
        const auto found = c.boxes_during(span(t, t + 0.04), r.stored);
        const bool covered = std::any_of(found.begin(), found.end(), [&](const StoredBox& b) { return b.holds(here); });
        REQUIRE(covered);
    }
}

TEST_CASE("A track of many places covers each of them at its time") {
    const Recording r = recording("r1", 60, {1280, 720});
    Suspect x = text_at({0, 0, 80, 30}, 5, 25);
    x.track.clear();
    for (int i = 0; i <= 40; ++i) x.track.push_back({at(5 + i * 0.5), {(i * 131) % 1200, (i * 71) % 690, 80, 30}});
    const Covers c = covers_for(r, {x}, {});
    for (const auto& p : x.track) {
        const auto found = c.boxes_during({p.t, p.t + kMillisecond}, r.stored);
        CHECK(std::any_of(found.begin(), found.end(), [&](const StoredBox& b) { return b.holds({p.box.x, p.box.y, 80, 30}); }));
    }
}

TEST_CASE("A frame that stays long is covered when any part of its time is") {
    const Recording r = recording();
    const Covers c = covers_for(r, {text_at({100, 100, 50, 50}, 10, 12)}, {});
    CHECK(c.boxes_during(span(3, 9.8), r.stored).size() == 1);   // its last moments are under the cover
    CHECK(c.boxes_during(span(12.2, 30), r.stored).size() == 1);  // its first are
    CHECK(c.boxes_during(span(0, 50), r.stored).size() == 1);
    CHECK(c.boxes_during(span(20, 50), r.stored).empty());
}

TEST_CASE("An interlaced picture is covered some lines further up and down") {
    Recording r = recording("r1", 60, {720, 576});
    bool ever = false;
    for (int y = 60; y < 400; ++y) {
        r.interlaced = false;
        const StoredBox plain = boxes(r, text_at({200, y, 100, 30}), 12, 12.04).at(0);
        r.interlaced = true;
        const StoredBox woven = boxes(r, text_at({200, y, 100, 30}), 12, 12.04).at(0);
        REQUIRE(woven.holds(plain));
        REQUIRE(woven.y <= y - smear_margin(r.stored) - 4);
        REQUIRE(woven.bottom() >= y + 30 + smear_margin(r.stored) + 4);
        ever = ever || woven != plain;
    }
    CHECK(ever);
}

TEST_CASE("A cover lies on the stored pixels of what a person sees, in every rotation") {
    for (Rotation turn : {Rotation::none, Rotation::quarter, Rotation::half, Rotation::three_quarters}) {
        Recording r = recording("r1", 60, {1280, 720});
        r.rotation = turn;
        const UprightBox seen{200, 150, 120, 40};
        const auto found = boxes(r, text_at(seen), 12, 12.04);
        REQUIRE(found.size() == 1);
        CHECK(found[0].holds(stored_from_upright(seen, r.stored, turn)));
    }
}

TEST_CASE("Speech is hushed, an outside view is wholly covered, a file field asks for neither") {
    const Recording r = recording();
    Suspect x = text_at({0, 0, 1, 1}, 10, 12);
    x.track.clear();
    x.kind = SuspectKind::speech;
    Covers c = covers_for(r, {x}, {});
    CHECK(c.picture.empty());
    CHECK(c.hushed == std::vector{span(9.5, 12.5)});
    x.kind = SuspectKind::outside;
    c = covers_for(r, {x}, {});
    CHECK(c.whole_during(span(11, 11.04)));
    CHECK_FALSE(c.whole_during(span(13, 13.04)));
    CHECK(c.hushed.empty());
    x.kind = SuspectKind::metadata;
    c = covers_for(r, {x}, {});
    CHECK(c.picture.empty());
    CHECK(c.hushed.empty());
}

TEST_CASE("Suspects of one recording cover nothing in another") {
    Suspect x = text_at({100, 100, 50, 50});
    x.recording = "r2";
    CHECK(covers_for(recording(), {x}, {}).picture.empty());
}

TEST_CASE("Where somebody is in view the whole picture is suspected, unless it is already") {
    const Recording r = recording();
    Suspect face;
    face.id = "x1", face.recording = r.id, face.kind = SuspectKind::face, face.span = span(10, 14), face.sureness = .9, face.spotter = "faces 1";
    face.track = {{face.span.start, {100, 100, 80, 90}}};
    auto forced = forced_outside(r, {face}, {face});
    REQUIRE(forced.size() == 1);
    CHECK(forced[0].span.start < face.span.start);
    CHECK(forced[0].span.end > face.span.end);
    CHECK(forced[0].spotter == "faces 1");

    Suspect outside = face;
    outside.id = "x2", outside.kind = SuspectKind::outside, outside.track.clear(), outside.span = span(9, 13);
    forced = forced_outside(r, {face}, {face, outside});
    REQUIRE(forced.size() == 1);
    CHECK(forced[0].span.end >= face.span.end);
    // What a person has judged stays as it was judged.
    outside.span = span(9, 15), outside.decision.verdict = Verdict::harmless;
    CHECK(forced_outside(r, {face}, {face, outside}).empty());
    face.sureness = .55;
    CHECK(forced_outside(r, {face}, {face}).empty());
}

TEST_CASE("What a person covers by hand keeps its margin: a stay that a spotter found begins where it saw the ear for certain") {
    const Recording r = recording();
    Suspect stay;
    stay.id = "x1", stay.recording = r.id, stay.kind = SuspectKind::outside, stay.span = span(10, 12), stay.spotter = "outside 2";
    CHECK_FALSE(covers_for(r, {stay}, {}).whole_during(span(9.6, 9.9)));
    CHECK(covers_for(r, {stay}, {}).whole_during(span(10, 10.1)));
    stay.spotter = "by hand", stay.decision.verdict = Verdict::cover;
    CHECK(covers_for(r, {stay}, {}).whole_during(span(9.6, 9.9)));
    CHECK(covers_for(r, {stay}, {}).whole_during(span(12.1, 12.2)));
}

TEST_CASE("Whether anything of the picture is left is told of all covers together") {
    Covers covers;
    const Size size{640, 480};
    covers.picture = {{span(1, 2), false, {0, 0, 640, 240}}, {span(1, 2), false, {0, 224, 400, 256}}};
    CHECK_FALSE(covers.nothing_left_during(span(1, 1.1), size));
    covers.picture.push_back({span(1.5, 2), false, {384, 240, 256, 240}});
    CHECK_FALSE(covers.nothing_left_during(span(1, 1.1), size));
    CHECK(covers.nothing_left_during(span(1.6, 1.7), size));
    CHECK_FALSE(covers.whole_during(span(1.6, 1.7)));
    CHECK_FALSE(covers.nothing_left_during(span(3, 3.1), size));
    covers.picture.push_back({span(3, 4), true, {0, 0, 640, 480}});
    CHECK(covers.nothing_left_during(span(3, 3.1), size));
}
