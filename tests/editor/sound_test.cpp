// Sound that is really played: a private PulseAudio whose sink leads nowhere and is recorded.
#include <catch2/catch.hpp>

#include <chrono>
#include <thread>

#include "app/editor/player.hpp"
#include "tests/editor/sound_server.hpp"

using namespace canalogue;
using namespace canalogue::editor;
using namespace canalogue::test;

namespace {

using Clock = std::chrono::steady_clock;

struct Film {
    Film() {
        recording.path = make_media(folder / "a.mp4", "-f lavfi -i testsrc2=s=320x180:r=25:d=20 -f lavfi -i sine=f=440:d=20 -c:v libx264 -preset veryfast -pix_fmt yuv420p -c:a aac").string();
        auto built = media::FrameIndex::build(recording.path, {});
        REQUIRE(built.ok());
        index = std::make_shared<media::FrameIndex>(std::move(*built));
        recording.id = "r1";
        recording.only = index->span();
        recording.stored = {320, 180};
        recording.has_sound = true;
    }
    TempFolder folder;
    Recording recording;
    std::shared_ptr<const media::FrameIndex> index;
};

// As the window does: asks the player again and again, until it is so. The places where the film stood.
template <class Done>
std::vector<SessionTime> run_until(Player& player, Done done) {
    std::vector<SessionTime> stood;
    const auto end = Clock::now() + std::chrono::seconds(30);
    while (Clock::now() < end) {
        player.tick(std::chrono::duration<double>(Clock::now().time_since_epoch()).count());
        stood.push_back(player.at());
        if (done()) return stood;
        rest(5);
    }
    FAIL("It did not happen in 30 seconds; the film stands at " << format_time(player.at().ns));
    return stood;
}

}  // namespace

TEST_CASE("Where sound is heard the film moves on with it at every pace, stands when stopped, and goes where it is sent") {
    SoundServer server;
    Film film;
    Player player;
    REQUIRE(player.sound().device());
    player.use({{film.recording, film.index, {}}});
    // A server that was asleep takes its time to begin, on a busy machine longer than the picture waits.
    const auto woken_by = Clock::now() + std::chrono::seconds(20);
    player.play(true);
    run_until(player, [&] { return player.sound().heard(0).has_value() || Clock::now() > woken_by; });
    REQUIRE(player.sound().heard(0));
    player.play(false);
    for (const double pace : {1.0, 0.25, 0.5, 2.0, 4.0}) {
        INFO("pace " << pace);
        player.set_pace(pace);
        player.go({kSecond});
        player.play(true);
        // On a busy machine the film may have begun before its sound: what counts is that it comes.
        const auto stood = run_until(player, [&] { return player.at() > SessionTime{kSecond + kSecond / 2} && player.sound().heard(0); });
        CHECK(std::is_sorted(stood.begin(), stood.end()));
        player.play(false);
        const SessionTime stopped = player.at();
        for (int i = 0; i < 10; ++i) rest(10), player.tick(0);
        CHECK(player.at() == stopped);
        CHECK_FALSE(player.sound().heard(0));
    }
    // Sent elsewhere while it plays, it goes on from there.
    player.set_pace(1);
    player.play(true);
    player.go({10 * kSecond});
    const auto after = run_until(player, [&] { return player.at() > SessionTime{10 * kSecond + kSecond / 2}; });
    CHECK(after.front() == SessionTime{10 * kSecond});
    CHECK(std::is_sorted(after.begin(), after.end()));
    // At its end it stops.
    player.go({19 * kSecond + kSecond / 2});
    run_until(player, [&] { return !player.playing(); });
    CHECK(player.at() == player.whole().end - 1);
}

TEST_CASE("A loop that is heard begins again and again, and never leaves its span") {
    SoundServer server;
    Film film;
    Player player;
    player.use({{film.recording, film.index, {}}});
    const SessionSpan span{{2 * kSecond}, {3 * kSecond}};
    player.set_loop(span);
    player.go(span.start);
    player.play(true);
    int rounds = 0;
    SessionTime last = span.start;
    const auto stood = run_until(player, [&] {
        rounds += player.at() < last;
        last = player.at();
        return rounds == 3;
    });
    for (const SessionTime t : stood) CHECK(span.holds(t));
}

TEST_CASE("What the hand sets is how loud it is heard: nothing at zero") {
    SoundServer server;
    Film film;
    Player player;
    player.use({{film.recording, film.index, {}}});
    const auto plays = [&] {
        const SessionTime from = player.at();
        run_until(player, [&] { return player.at() - from > kSecond; });
    };
    player.play(true);
    plays();
    const int full = server.loudest(plays);
    CHECK(full > 1000);
    player.sound().set_volume(0.5);
    plays();  // what the device still held
    const int half = server.loudest(plays);
    CHECK(half > full / 5);
    CHECK(half < full / 3);
    player.sound().set_volume(0);
    plays();
    CHECK(server.loudest(plays) == 0);
}

TEST_CASE("When the sound server goes away the film goes on without it") {
    auto server = std::make_unique<SoundServer>();
    Film film;
    Player player;
    player.use({{film.recording, film.index, {}}});
    player.play(true);
    run_until(player, [&] { return player.at() > SessionTime{kSecond}; });
    server.reset();
    run_until(player, [&] { return player.at() > SessionTime{6 * kSecond}; });
}
