// Frames for the picture: the exact one, whatever the hand does.
#include <catch2/catch.hpp>
#include <chrono>
#include <random>
#include <thread>

#include "app/editor/player.hpp"
#include "app/editor/reduced_copy.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::editor;
using namespace canalogue::test;

namespace {

struct Film {
    Film() {
        // Rare keyframes and B-frames: the hard case for jumping about.
        recording.path = make_media(folder / "a.mp4", "-f lavfi -i testsrc2=s=320x180:r=25:d=12 -c:v libx264 -preset veryfast -bf 3 -g 250 -pix_fmt yuv420p").string();
        auto built = media::FrameIndex::build(recording.path, {});
        REQUIRE(built.ok());
        index = std::make_shared<media::FrameIndex>(std::move(*built));
        recording.id = "r1";
        recording.only = index->span();
        recording.stored = {320, 180};
    }
    TempFolder folder;
    Recording recording;
    std::shared_ptr<const media::FrameIndex> index;
};

std::vector<std::uint8_t> luma(const AVFrame& f) {
    std::vector<std::uint8_t> out;
    for (int y = 0; y < f.height; ++y) out.insert(out.end(), f.data[0] + static_cast<std::ptrdiff_t>(y) * f.linesize[0], f.data[0] + static_cast<std::ptrdiff_t>(y) * f.linesize[0] + f.width);
    return out;
}

template <class Take>
auto waited_for(Take take) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(20);
    auto got = take();
    while (!got && std::chrono::steady_clock::now() < end) {
        std::this_thread::sleep_for(std::chrono::milliseconds(2));
        got = take();
    }
    return got;
}

}  // namespace

TEST_CASE("Of many wishes in a hurry the last one is met, and every frame handed out is the one it is said to be") {
    Film film;
    auto reader = media::FrameReader::open(film.recording.path);
    REQUIRE(reader.ok());
    reader->use_index(film.index);
    FrameServer server;
    server.use({{"r1", film.recording.path, film.index}});
    std::mt19937 random(3);
    for (int round = 0; round < 40; ++round) {
        std::size_t wish = 0;
        for (int i = 0; i < 8; ++i) {
            wish = random() % film.index->size();
            server.want("r1", wish, i % 3 - 1);
            if (i % 3 == 0) std::this_thread::sleep_for(std::chrono::milliseconds(1));
        }
        const auto picture = waited_for([&] { return server.take("r1", wish); });
        REQUIRE(picture);
        auto exact = reader->frame(wish);
        REQUIRE(exact.ok());
        INFO("frame " << wish);
        CHECK(picture->time == film.index->time(wish));
        CHECK(luma(*picture->frame) == luma(*exact->frame));
    }
}

TEST_CASE("Steps go to each frame in turn, both ways, and stop at the ends") {
    Film film;
    Player player;
    player.use({{film.recording, film.index, {}}});
    player.go({0});
    for (std::size_t i = 1; i < 6; ++i) {
        player.step(1);
        CHECK(player.showing()->frame == i);
    }
    for (std::size_t i = 5; i-- > 0;) {
        player.step(-1);
        CHECK(player.showing()->frame == i);
    }
    player.step(-1);
    CHECK(player.showing()->frame == 0);
    player.go(player.whole().end);
    CHECK(player.showing()->frame == film.index->size() - 1);
    player.step(1);
    CHECK(player.showing()->frame == film.index->size() - 1);
}

TEST_CASE("In the public look no frame is left out, however late they come") {
    Film film;
    Player player;
    player.use({{film.recording, film.index, {}}});
    player.set_public_look(true);
    player.go({0});
    player.play(true);
    double clock = 1;
    std::size_t last = 0;
    player.tick(clock);
    for (int i = 0; i < 120; ++i) {
        clock += 0.2;  // five frames of the film pass between two of the window
        player.tick(clock);
        const std::size_t now = player.showing()->frame;
        CHECK(now <= last + 1);
        last = now;
        std::this_thread::sleep_for(std::chrono::milliseconds(4));
    }
    CHECK(last > 20);
}

TEST_CASE("In the public look a slow picture costs no time: the ones after it come a little sooner, and none is left out") {
    Film film;
    Player player;
    player.use({{film.recording, film.index, {}}});
    player.set_public_look(true);
    player.go({0});
    REQUIRE(waited_for([&] { return player.picture(); }));
    player.play(true);
    double clock = 1;
    player.tick(clock);
    std::size_t last = 0;
    int ticks = 0;
    const auto tick = [&](double passed) {
        player.tick(clock += passed);
        const std::size_t now = player.showing()->frame;
        CHECK(now <= last + 1);
        last = now;
        ++ticks;
        CHECK(waited_for([&] { return player.picture(); }));  // decoding keeps up
    };
    for (int i = 0; i < 50; ++i) tick(0.02);
    CHECK(player.at().seconds() == Approx(1).margin(0.001));
    tick(0.12);  // what the window once needed
    for (int i = 0; i < 50; ++i) tick(0.02);
    CHECK(player.at().seconds() == Approx(2.12).margin(0.001));
    // A pause is nobody's debt.
    player.play(false);
    player.play(true);
    player.tick(clock += 5);
    CHECK(player.at().seconds() == Approx(2.12).margin(0.001));
}

TEST_CASE("A loop stays inside its span") {
    Film film;
    Player player;
    player.use({{film.recording, film.index, {}}});
    player.set_loop(SessionSpan{{2 * kSecond}, {3 * kSecond}});
    player.go({2 * kSecond});
    player.play(true);
    double clock = 1;
    player.tick(clock);
    for (int i = 0; i < 100; ++i) {
        player.tick(clock += 0.06);
        CHECK(player.at() >= SessionTime{2 * kSecond});
        CHECK(player.at() < SessionTime{3 * kSecond});
    }
}

TEST_CASE("The reduced copy shows the same frames and leaves no file") {
    Film film;
    CHECK(ReducedCopy::worth_it(*film.index));
    const fs::path cache = film.folder / "cache";
    fs::create_directory(cache);
    auto copy = ReducedCopy::make(film.recording.path, film.index, cache, {});
    REQUIRE(copy.ok());
    CHECK(fs::is_empty(cache));
    auto reader = media::FrameReader::open(film.recording.path);
    reader->use_index(film.index);
    for (std::size_t i : {std::size_t{0}, std::size_t{137}, film.index->size() - 1}) {
        const auto small = (*copy)->frame(i);
        REQUIRE(small);
        auto exact = reader->frame(i);
        const auto a = luma(*small->frame), b = luma(*exact->frame);
        REQUIRE(a.size() == b.size());  // it was small enough already
        double difference = 0;
        for (std::size_t k = 0; k < a.size(); ++k) difference += std::abs((b[k] - 16) * 255.0 / 219 - a[k]);
        CHECK(difference / static_cast<double>(a.size()) < 4);  // levels: it is the same picture
    }
    CHECK_FALSE((*copy)->frame(film.index->size()));
}
