#include <catch2/catch.hpp>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "demo_media/labelled/frozen.hpp"
#include "demo_media/labelled/recipe.hpp"
#include "label_reader.hpp"
#include "opened_film.hpp"

using namespace canalogue;
using namespace canalogue::demo::labelled;
using nlohmann::json;

namespace {

struct SmallOne {
    ScratchFolder scratch;
    MadeSession made;
    json truth;
    ReadVideo recording, labels;
    SmallOne(std::uint64_t seed, double seconds) {
        auto r = make_labelled(scratch.path, {seed, seconds, true}, Progress{});
        REQUIRE(r.ok());
        made = std::move(*r);
        std::ifstream(made.truth) >> truth;
        recording = read_video(made.recording), labels = read_video(made.labels);
    }
};

// Seeds: 2 interlaced AVI; 4 variable rate; 5 and 11 menus; 13 scrolls; 32, 36 apart; 34 on its side.
const SmallOne& small_one(std::uint64_t seed) {
    static std::map<std::uint64_t, std::unique_ptr<SmallOne>> kept;
    auto& one = kept[seed];
    if (!one) one = std::make_unique<SmallOne>(seed, 2.5);
    return *one;
}

cv::Rect box_at(const json& entry, double t) {
    cv::Rect out;
    for (const json& b : entry["boxes"])
        if (b["t"].get<double>() <= t + 0.0006) out = {b["x"], b["y"], b["w"], b["h"]};
    return out;
}

std::vector<cv::Rect> boxes_at(const json& list, double t) {
    std::vector<cv::Rect> out;
    for (const json& e : list)
        if (e["start"].get<double>() <= t + 0.0006 && t < e["end"].get<double>() - 0.0006) out.push_back(box_at(e, t));
    return out;
}

int outside_boxes(const cv::Mat1b& labels, int label, const std::vector<cv::Rect>& boxes) {
    cv::Mat1b left = labels.clone();
    for (const cv::Rect& b : boxes) left(b & cv::Rect({0, 0}, left.size())).setTo(0);
    int count = 0;
    for (std::uint8_t v : left) count += v == label;
    return count;
}

bool touches_each_side(const cv::Mat1b& labels, const cv::Rect& b) {
    const auto some = [&](const cv::Rect& side) {
        const cv::Mat1b part = labels(side);
        return std::find(part.begin(), part.end(), 1) != part.end();
    };
    return some({b.x, b.y, b.width, 1}) && some({b.x, b.y + b.height - 1, b.width, 1}) &&
           some({b.x, b.y, 1, b.height}) && some({b.x + b.width - 1, b.y, 1, b.height});
}

}  // namespace

TEST_CASE("A labelled session's seed decides its truth and labels", "[demo_media][labelled]") {
    const auto& one = small_one(5);
    const auto again = fingerprint_of({5, 2.5, true}, Progress{});
    const auto other = fingerprint_of({6, 2.5, true}, Progress{});
    REQUIRE(again.ok());
    REQUIRE(other.ok());
    CHECK(one.made.fingerprint == *again);
    CHECK(one.made.fingerprint.truth != other->truth);
    CHECK(one.made.fingerprint.labels != other->labels);
}

TEST_CASE("Labelled pixels lie in the truth's boxes, and text fills its boxes", "[demo_media][labelled]") {
    const auto seed = GENERATE(std::uint64_t(2), std::uint64_t(4), std::uint64_t(5), std::uint64_t(13), std::uint64_t(32),
                               std::uint64_t(34), std::uint64_t(36));
    CAPTURE(seed);
    const auto& one = small_one(seed);
    int written = 0, lost = 0, loose = 0;
    for (std::size_t i = 0; i < one.labels.grey.size(); ++i) {
        const cv::Mat1b& l = one.labels.grey[i];
        const double t = one.labels.times[i];
        const auto text = boxes_at(one.truth["text"], t);
        lost += outside_boxes(l, 1, text);
        lost += outside_boxes(l, 2, boxes_at(one.truth["faces"], t));
        lost += outside_boxes(l, 3, boxes_at(one.truth["room_text"], t));
        for (const cv::Rect& b : text) ++written, loose += !touches_each_side(l, b);
    }
    CHECK(written > 0);
    CHECK(lost == 0);
    CHECK(loose == 0);
}

TEST_CASE("There is a label frame for each frame of the recording, at its time", "[demo_media][labelled]") {
    const auto seed = GENERATE(std::uint64_t(2), std::uint64_t(4), std::uint64_t(5), std::uint64_t(34));
    CAPTURE(seed);
    const auto& one = small_one(seed);
    CHECK(one.recording.times.size() == one.truth["frames"].get<std::size_t>());
    REQUIRE(one.labels.times.size() == one.recording.times.size());
    const double first = one.recording.times.front() - one.labels.times.front();
    for (std::size_t i = 0; i < one.labels.times.size(); ++i)
        CHECK(one.recording.times[i] - first == Approx(one.labels.times[i]).margin(0.0011));
    CHECK(one.labels.grey.front().cols == one.truth["size"]["w"].get<int>());
    CHECK(one.labels.grey.front().rows == one.truth["size"]["h"].get<int>());
}

TEST_CASE("Interlaced sessions say so and hold two instants a frame", "[demo_media][labelled]") {
    const auto& one = small_one(2);
    CHECK(one.truth["interlaced"] == true);
    CHECK(one.recording.interlaced_stream);
    CHECK(one.recording.top_first);
    CHECK(one.recording.interlaced_frames == int(one.recording.times.size()));
    CHECK(small_one(5).recording.interlaced_frames == 0);
    // Where the hand moves, a row is more like the next but one, of its own instant, than like its neighbour.
    int combed = 0;
    for (const cv::Mat1b& g : one.recording.grey) {
        double next = 0, next_but_one = 0;
        for (int y = 0; y + 2 < g.rows; ++y)
            next += cv::norm(g.row(y), g.row(y + 1), cv::NORM_L1), next_but_one += cv::norm(g.row(y), g.row(y + 2), cv::NORM_L1);
        combed += next > next_but_one;
    }
    CHECK(combed > 2);
}

TEST_CASE("Variable rate means uneven times", "[demo_media][labelled]") {
    const auto& one = small_one(4);
    std::set<int> steps;
    for (std::size_t i = 1; i < one.recording.times.size(); ++i)
        steps.insert(int(std::lround((one.recording.times[i] - one.recording.times[i - 1]) * 1000)));
    CHECK(steps.size() > 8);
}

TEST_CASE("A session stored on its side says how it is turned", "[demo_media][labelled]") {
    const auto& one = small_one(34);
    CHECK(one.recording.turn == -90);
    CHECK(one.recording.grey.front().cols == one.labels.grey.front().rows);
}

TEST_CASE("The file says about itself what the truth says", "[demo_media][labelled]") {
    for (std::uint64_t seed : {2, 4, 5, 34})
        for (const char* field : {"title", "artist", "comment"}) {
            CAPTURE(seed, field);
            const auto& one = small_one(seed);
            REQUIRE(one.recording.about.count(field) == 1);
            CHECK(one.recording.about.at(field) == one.truth["metadata"][field].get<std::string>());
        }
}

TEST_CASE("The frozen set holds every kind of session, ten of them apart", "[demo_media][labelled]") {
    const auto set = read_frozen(std::string(CANALOGUE_SOURCE_DIR) + "/demo_media/labelled/frozen.json");
    REQUIRE(set.ok());
    CHECK(set->sessions.size() == 40);
    int apart = 0;
    std::set<std::string> met;
    for (const FrozenSession& s : set->sessions) {
        apart += s.apart;
        met.insert(s.made.begin(), s.made.end());
        CHECK(recipe_for(s.seed, set->seconds).made == s.made);
        CHECK(s.fingerprint.truth.size() == 64);
        CHECK(s.fingerprint.labels.size() == 64);
    }
    CHECK(apart == 10);
    for (const std::string& kind : all_kinds()) {
        CAPTURE(kind);
        CHECK(met.count(kind) == 1);
    }
    CHECK(met.size() == all_kinds().size());
}
