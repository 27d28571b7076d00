// Sound that is really played: a private PulseAudio whose sink leads nowhere and is recorded.
#include <catch2/catch.hpp>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <cstring>
#include <map>
#include <thread>

#include "app/editor/player.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::editor;
using namespace canalogue::test;

namespace {

using Clock = std::chrono::steady_clock;

void rest(int milliseconds) { std::this_thread::sleep_for(std::chrono::milliseconds(milliseconds)); }

// A process of ours, gone with the object.
class Child {
  public:
    explicit Child(const std::string& command) : pid_(fork()) {
        if (pid_ != 0) return;
        execlp("sh", "sh", "-c", ("exec " + command + " 2>/dev/null").c_str(), static_cast<char*>(nullptr));
        _exit(127);
    }
    ~Child() {
        kill(pid_, SIGTERM);
        waitpid(pid_, nullptr, 0);
    }
    Child(const Child&) = delete;
    Child& operator=(const Child&) = delete;

  private:
    pid_t pid_;
};

// While it lives, this process's sound goes to its sink.
class SoundServer {
  public:
    SoundServer() {
        const std::string at = (folder_ / "native").string();
        set("HOME", folder_.path().string());
        set("XDG_RUNTIME_DIR", folder_.path().string());
        set("PULSE_RUNTIME_PATH", folder_.path().string());
        set("PULSE_SERVER", "unix:" + at);
        write_file(folder_ / ".asoundrc", "pcm.!default { type pulse }\nctl.!default { type pulse }\n");
        server_ = std::make_unique<Child>("pulseaudio -n --daemonize=no --system=false --use-pid-file=false --exit-idle-time=-1 -L 'module-native-protocol-unix socket=" + at +
                                          " auth-anonymous=1' -L 'module-null-sink sink_name=ears rate=48000 channels=2'");
        for (int i = 0; i < 200 && try_run("pactl info").code != 0; ++i) rest(50);
        REQUIRE(try_run("pactl info").code == 0);
    }
    ~SoundServer() {
        server_.reset();
        for (const auto& [name, old] : before_) old.empty() ? unsetenv(name.c_str()) : setenv(name.c_str(), old.c_str(), 1);
    }
    SoundServer(const SoundServer&) = delete;
    SoundServer& operator=(const SoundServer&) = delete;

    // The loudest sample that the sink plays while `act` goes on.
    template <class Act>
    int loudest(Act act) {
        const fs::path file = folder_ / "heard.raw";
        {
            const Child recorder("parec --device=ears.monitor --format=s16le --channels=1 --raw > '" + file.string() + "'");
            act();
        }
        const std::string bytes = read_file(file);
        int most = 0;
        for (std::size_t i = 0; i + 1 < bytes.size(); i += 2) {
            std::int16_t s;
            std::memcpy(&s, &bytes[i], 2);
            most = std::max(most, std::abs(static_cast<int>(s)));
        }
        CHECK(bytes.size() > 1000);
        return most;
    }

  private:
    void set(const std::string& name, const std::string& value) {
        const char* old = std::getenv(name.c_str());
        before_[name] = old ? old : "";
        setenv(name.c_str(), value.c_str(), 1);
    }
    TempFolder folder_;
    std::map<std::string, std::string> before_;
    std::unique_ptr<Child> server_;
};

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
        const auto stood = run_until(player, [&] { return player.at() > SessionTime{kSecond + kSecond / 2}; });
        CHECK(std::is_sorted(stood.begin(), stood.end()));
        CHECK(player.sound().heard(0));
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
