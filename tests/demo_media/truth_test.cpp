#include <catch2/catch.hpp>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "demo_media/film_writer.hpp"
#include "demo_media/recording_painter.hpp"
#include "demo_media/session.hpp"
#include "demo_media/sound_track.hpp"
#include "demo_media/spoken.hpp"
#include "opened_film.hpp"

using namespace canalogue;
using nlohmann::json;

namespace {

struct SmallSession {
    ScratchFolder scratch;
    demo::Made made;
    json truth;
    SmallSession() {
        demo::Options o;
        o.size = {320, 180};
        o.seconds = 6;
        auto result = demo::make_session(scratch.path, o, Progress{});
        REQUIRE(result.ok());
        made = std::move(*result);
        std::ifstream(made.truth) >> truth;
    }
};

// Made once: the cases only read it.
const SmallSession& small_session() {
    static const SmallSession session;
    return session;
}

double loudness(const std::vector<float>& samples, double start, double end) {
    double sum = 0;
    const auto a = std::size_t(start * demo::kSoundRate),
               b = std::min(samples.size(), std::size_t(end * demo::kSoundRate));
    for (std::size_t i = a; i < b; ++i) sum += double(samples[i]) * double(samples[i]);
    return std::sqrt(sum / double(std::max<std::size_t>(1, b - a)));
}

}  // namespace

TEST_CASE("Recordings open as H.264 in BT.709 with mono sound, as long as the truth says", "[demo_media]") {
    const auto& s = small_session();
    for (std::size_t i = 0; i < 2; ++i) {
        const OpenedFilm film = opened(s.made.recordings[i]);
        const json& truth = s.truth["recordings"][i];
        CHECK(film.video_codec == "h264");
        CHECK(film.sound_codec == "aac");
        CHECK(film.width == 320);
        CHECK(film.height == 180);
        CHECK(film.bt709_limited);
        CHECK(film.sound_rate == 48000);
        CHECK(film.channels == 1);
        CHECK(film.seconds == Approx(truth["seconds"].get<double>()).margin(0.05));
        CHECK(film.sound_seconds == Approx(truth["seconds"].get<double>()).margin(0.05));
        CHECK(int(film.frame_times.size()) == truth["frames"].get<int>());
        CHECK(film.frame_times.front() == Approx(0).margin(0.001));
    }
}

TEST_CASE("Only the second recording drops frames, exactly those the truth names", "[demo_media]") {
    const auto& s = small_session();
    CHECK(s.truth["recordings"][0]["dropped_frames"].empty());
    const json& left = s.truth["recordings"][1];
    REQUIRE(left["dropped_frames"].size() > 0);
    std::set<int> missing;
    const int count =
        int(std::lround(left["seconds"].get<double>() * left["frames_per_second"].get<double>()));
    for (int i = 0; i < count; ++i) missing.insert(i);
    for (double t : opened(s.made.recordings[1]).frame_times) missing.erase(int(std::lround(t * 25)));
    CHECK(missing == left["dropped_frames"].get<std::set<int>>());
}

TEST_CASE("The containers carry the invented name, time and place", "[demo_media]") {
    const auto& s = small_session();
    for (const auto& file : s.made.recordings) {
        const auto about = opened(file).about;
        CHECK_THAT(about.at("title"), Catch::Contains("Brackwater"));
        CHECK_THAT(about.at("comment"),
                   Catch::Contains("BRACKWATER, ALDOUS") && Catch::Contains("TEST 0048213"));
        CHECK_THAT(about.at("artist"), Catch::Contains("Harbour Ear Clinic"));
        CHECK_THAT(about.at("creation_time"), Catch::StartsWith("2031-03-04T09:4"));
        CHECK(about.at("location") == "+00.5000-000.5000/");
        CHECK(about.count("encoder") == 0);
    }
}

TEST_CASE("Every span and box of the truth lies inside its recording", "[demo_media]") {
    for (const json& r : small_session().truth["recordings"]) {
        const double seconds = r["seconds"];
        for (const char* list :
             {"events", "text", "room_text", "faces", "outside", "inside", "smear", "suction", "spoken"})
            for (const json& entry : r[list]) {
                INFO(list << " " << entry.dump());
                CHECK(entry["start"].get<double>() >= 0);
                CHECK(entry["start"].get<double>() <= seconds);
                if (std::string(list) != "events") REQUIRE(entry.contains("end"));
                if (entry.contains("end")) {
                    CHECK(entry["end"].get<double>() > entry["start"].get<double>());
                    CHECK(entry["end"].get<double>() <= seconds + 1e-9);
                }
                if (!entry.contains("x")) continue;
                CHECK((entry["x"] >= 0 && entry["y"] >= 0 && entry["w"] > 0 && entry["h"] > 0));
                CHECK(entry["x"].get<int>() + entry["w"].get<int>() <= 320);
                CHECK(entry["y"].get<int>() + entry["h"].get<int>() <= 180);
            }
    }
}

TEST_CASE("Outside and inside spans together are the whole recording, once", "[demo_media]") {
    for (const json& r : small_session().truth["recordings"]) {
        std::vector<std::pair<double, double>> all;
        for (const char* list : {"outside", "inside"})
            for (const json& s : r[list]) all.emplace_back(s["start"], s["end"]);
        std::sort(all.begin(), all.end());
        CHECK(all.front().first == 0);
        CHECK(all.back().second == Approx(r["seconds"].get<double>()));
        for (std::size_t i = 1; i < all.size(); ++i) CHECK(all[i].first == Approx(all[i - 1].second));
    }
}

TEST_CASE("Both ears' stories are told with their kinds of event", "[demo_media]") {
    const json& recordings = small_session().truth["recordings"];
    const auto kinds = [](const json& r) {
        std::set<std::string> out;
        for (const json& e : r["events"]) out.insert(e["kind"].get<std::string>());
        return out;
    };
    CHECK(recordings[0]["ear"] == "right");
    CHECK(recordings[1]["ear"] == "left");
    CHECK(kinds(recordings[0]) == std::set<std::string>{"blockage-found", "canal-clear", "drum-visible",
                                                        "instrument-in", "instrument-out", "lens-smeared",
                                                        "lens-wiped", "piece-removed", "skin-left",
                                                        "sore-area"});
    CHECK(kinds(recordings[1]) == std::set<std::string>{"canal-clear", "drum-visible", "foreign-body",
                                                        "foreign-body-removed", "instrument-in",
                                                        "instrument-out", "referral", "suspected-effusion"});
}

TEST_CASE("Burnt-in text stays inside its boxes, in the room and in the ear, and every box has text",
          "[demo_media]") {
    const demo::Script script = demo::right_ear(36);
    const demo::RecordingPainter painter(script, 7, {640, 360}, 0);
    for (double t : {1.0, 8.0, 34.0}) {
        const cv::Mat3b with = painter.paint(5, t), without = painter.paint_without_text(5, t);
        std::vector<int> changed(painter.text().items().size(), 0);
        int strays = 0;
        for (int y = 0; y < with.rows; ++y)
            for (int x = 0; x < with.cols; ++x) {
                if (with(y, x) == without(y, x)) continue;
                bool boxed = false;
                for (std::size_t i = 0; i < changed.size(); ++i)
                    if (painter.text().items()[i].box.holds(UprightBox{x, y, 1, 1}))
                        boxed = true, ++changed[i];
                strays += !boxed;
            }
        CHECK(strays == 0);
        for (std::size_t i = 0; i < changed.size(); ++i) {
            INFO(painter.text().items()[i].what);
            CHECK(changed[i] > 100);
        }
    }
}

TEST_CASE("The burnt-in clock ticks at whole seconds and the name stands still", "[demo_media]") {
    const demo::BurntIn text({640, 360}, demo::Ear::right, 1'930'383'600);
    const auto written = [&](double t, const char* what) {
        cv::Mat3b frame(360, 640, cv::Vec3b(0, 0, 0));
        text.write(frame, t);
        for (const auto& item : text.items())
            if (item.what == what)
                return cv::Mat(frame(cv::Rect(item.box.x, item.box.y, item.box.w, item.box.h))).clone();
        return cv::Mat();
    };
    const auto same = [](const cv::Mat& a, const cv::Mat& b) { return cv::norm(a, b, cv::NORM_INF) == 0; };
    CHECK(same(written(4.04, "clock"), written(4.96, "clock")));
    CHECK_FALSE(same(written(4.96, "clock"), written(5.0, "clock")));
    CHECK(same(written(4.96, "name"), written(5.0, "name")));
}

TEST_CASE("The name is heard where the truth says, and suction hisses only while it is on", "[demo_media]") {
    const demo::Script script = demo::right_ear(36);
    const auto sound = demo::make_sound(script, 7);
    REQUIRE(sound.ok());
    CHECK(sound->samples.size() == 36u * demo::kSoundRate);
    const double quiet = loudness(sound->samples, 6.0, 7.5);
    int names = 0;
    for (const auto& word : sound->spoken) {
        INFO(word.words);
        CHECK(loudness(sound->samples, word.start, word.end) > 5 * quiet);
        CHECK(word.end < 6.0);
        names += word.name;
        CHECK(word.name == (word.words == "Brackwater"));
    }
    CHECK(names == 1);
    CHECK(sound->spoken.size() >= 8);
    for (const auto& on : script.suction_on) {
        CHECK(loudness(sound->samples, on.start + 0.2, on.end - 0.2) > 4 * quiet);
        CHECK(loudness(sound->samples, on.end + 0.05, on.end + 0.8) < 2 * quiet);
    }
}

TEST_CASE("A sentence sounds the same whatever was spoken before it", "[demo_media]") {
    const std::string sentence = "Good morning mister Brackwater.";
    const auto first = demo::speak(sentence);
    REQUIRE(first.ok());
    for (const char* before :
         {"seven", "She sells sea shells", "And now your left ear.", "Good morning mister Brackwater."}) {
        REQUIRE(demo::speak(before).ok());
        const auto again = demo::speak(sentence);
        REQUIRE(again.ok());
        INFO("after: " << before);
        const bool same = again->samples == first->samples;
        CHECK(same);
    }
}

TEST_CASE("The cone of light lies at five o'clock in a right drum and at seven in a left one",
          "[demo_media]") {
    // Orientation of the reflex: any textbook of otoscopy; front of the head is right in a right ear's view.
    for (bool left : {false, true}) {
        const demo::Surface drum = demo::paint_drum(7, {left, false});
        double x = 0, y = 0, weight = 0;
        for (int j = 0; j < drum.height(); ++j)
            for (int i = 0; i < drum.width(); ++i) {
                const double w = drum.texel(i, j).extra;
                x += w * (i - drum.width() / 2.0), y += w * (j - drum.height() / 2.0), weight += w;
            }
        REQUIRE(weight > 0);
        const double hour = std::fmod(std::atan2(x, -y) / M_PI * 6 + 12, 12);
        CHECK(hour == Approx(left ? 7 : 5).margin(0.5));
    }
}
