// Promise 7: a plugin cannot hurt. A crash, a hang or nonsense loses nothing, is reported by the
// plugin's name, and leaves its span unscanned.
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <thread>

#include "tests/plugin_host/ill/moods.hpp"
#include "tests/plugin_host/ill_plugins.hpp"

namespace canalogue::tests {

namespace {

using namespace std::chrono_literals;
using Catch::Matchers::Contains;
using Proposals = std::vector<Proposal>;

Result<void> show(SpotterProcess& spotter, Mood mood) {
    const auto rgb = picture(static_cast<std::uint8_t>(mood));
    return spotter.frame({kSpan.start + kSecond}, rgb.data(), kPicture.w, kPicture.h, kPicture.w * 3);
}

// A span with one picture of that mood.
Result<Proposals> scan(SpotterProcess& spotter, Mood mood) {
    if (auto begun = spotter.begin_span(kSpan); !begun) return begun.failure();
    if (auto shown = show(spotter, mood); !shown) return shown.failure();
    return spotter.end_span();
}

HostOptions impatient() {
    auto options = quick_options();
    options.deadline = 300ms;
    return options;
}

std::size_t entries(const std::filesystem::path& folder) {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder), {}));
}

bool any_child_left() { return ::waitpid(-1, nullptr, WNOHANG) != -1 || errno != ECHILD; }

bool alive(pid_t pid) {
    for (int i = 0; i < 100; ++i) {
        std::ifstream stat("/proc/" + std::to_string(pid) + "/stat");
        std::string number, name, state;
        if (!(stat >> number >> name >> state) || state == "Z") return false;
        std::this_thread::sleep_for(20ms);
    }
    return true;
}

// What the snooper saw, by the name it gave it.
std::map<std::string, std::string> snoop(SpotterProcess& snooper) {
    auto told = snooper.fields({});
    REQUIRE(told.ok());
    std::map<std::string, std::string> seen;
    for (const auto& p : *told) seen[p.field] = p.words;
    return seen;
}

}  // namespace

TEST_CASE("A sound spotter's proposals arrive whole", "[plugin_host]") {
    auto spotter = started("moody");
    CHECK(spotter.samples_per_second() == 4);
    CHECK(spotter.wants_frames());
    CHECK(spotter.wants_fields());

    const auto found = scan(spotter, Mood::good);
    REQUIRE(found.ok());
    REQUIRE(found->size() == 1);
    const auto& p = found->front();
    CHECK(p.kind == SuspectKind::text);
    CHECK(p.span == kSpan);
    CHECK(p.sureness == .5);
    CHECK(p.track == std::vector<TrackPoint>{{kSpan.start + kSecond, {10, 20, 31, 12}}});  // 30.5 widened
    CHECK(p.words == "128");  // the last byte of the picture
}

TEST_CASE("A picture with padded rows arrives without its padding", "[plugin_host]") {
    auto spotter = started("moody");
    REQUIRE(spotter.begin_span(kSpan).ok());
    const int stride = kPicture.w * 3 + 20;
    std::vector<std::uint8_t> rgb(static_cast<std::size_t>(stride) * kPicture.h, 7);
    rgb[0] = static_cast<std::uint8_t>(Mood::good);
    rgb[static_cast<std::size_t>(stride) * (kPicture.h - 1) + kPicture.w * 3 - 1] = 99;
    REQUIRE(spotter.frame(kSpan.start, rgb.data(), kPicture.w, kPicture.h, stride).ok());
    const auto found = spotter.end_span();
    REQUIRE(found.ok());
    CHECK(found->at(0).words == "99");
}

TEST_CASE("Fields go to the spotter and come back as suspects of the whole recording", "[plugin_host]") {
    auto spotter = started("moody");
    const auto found =
        spotter.fields({{"container: title", "Session of TEST-0000001"}, {"file: name", "a.mp4"}});
    REQUIRE(found.ok());
    REQUIRE(found->size() == 2);
    CHECK(found->at(0).kind == SuspectKind::metadata);
    CHECK(found->at(0).field == "container: title");
    CHECK(found->at(0).words == "Session of TEST-0000001");
    CHECK(found->at(0).span == RecordingSpan{{0}, {kFacts.duration}});
}

TEST_CASE("A crash is reported by the spotter's name and the span can be offered again", "[plugin_host]") {
    auto spotter = started("moody");
    const auto mood = GENERATE(Mood::crash, Mood::crash_at_end);
    const auto found = scan(spotter, mood);
    REQUIRE_FALSE(found.ok());
    CHECK(found.failure().sentence == "The spotter 'Test spotter moody' crashed; this span stays unscanned.");
    CHECK_FALSE(spotter.running());
    CHECK_FALSE(spotter.begin_span(kSpan).ok());
    CHECK_FALSE(any_child_left());

    REQUIRE(spotter.restart().ok());
    CHECK(scan(spotter, Mood::good).ok());
}

TEST_CASE("A spotter that hangs is ended at its deadline", "[plugin_host]") {
    auto spotter = started("moody", impatient());
    const auto mood = GENERATE(Mood::hang, Mood::hang_at_end);
    const auto before = std::chrono::steady_clock::now();
    const auto found = scan(spotter, mood);
    const auto took = std::chrono::steady_clock::now() - before;
    REQUIRE_FALSE(found.ok());
    CHECK(found.failure().sentence ==
          "The spotter 'Test spotter moody' stopped answering after 300 ms; this span stays unscanned.");
    CHECK(took >= 300ms);
    CHECK(took < 1500ms);  // the deadline and what a busy machine adds
    CHECK_FALSE(any_child_left());

    REQUIRE(spotter.restart().ok());
    CHECK(scan(spotter, Mood::good).ok());
}

TEST_CASE("Nonsense is refused whole, named, and leaves the span unscanned", "[plugin_host]") {
    const auto mood = static_cast<Mood>(
        GENERATE(range(static_cast<int>(Mood::first_nonsense), static_cast<int>(Mood::last_nonsense) + 1)));
    CAPTURE(static_cast<int>(mood));
    auto spotter = started("moody");
    const auto found = scan(spotter, mood);
    REQUIRE_FALSE(found.ok());
    CHECK_THAT(found.failure().sentence,
               Contains("'Test spotter moody' answered nonsense") && Contains("this span stays unscanned."));
    REQUIRE(spotter.restart().ok());
    CHECK(scan(spotter, Mood::good).ok());
}

TEST_CASE("A hundred thousand proposals are nonsense", "[plugin_host]") {
    auto spotter = started("moody");
    const auto found = scan(spotter, Mood::countless);
    REQUIRE_FALSE(found.ok());
    CHECK_THAT(found.failure().sentence, Contains("too many proposals"));
}

TEST_CASE("A spotter that says it cannot is quoted, and goes on with the next span", "[plugin_host]") {
    auto spotter = started("moody");
    const auto found = scan(spotter, Mood::give_up);
    REQUIRE_FALSE(found.ok());
    CHECK(found.failure().sentence ==
          "The spotter 'Test spotter moody' gave up, so that this span stays unscanned: The lantern is out.");
    CHECK(spotter.running());
    CHECK_FALSE(spotter.end_span().ok());  // the failed span cannot be ended as if it had been scanned
    CHECK(scan(spotter, Mood::good).ok());
}

TEST_CASE("What was found before a failure does not leak into the next span", "[plugin_host]") {
    auto spotter = started("moody");
    REQUIRE(spotter.begin_span(kSpan).ok());
    REQUIRE(show(spotter, Mood::good).ok());
    REQUIRE_FALSE(show(spotter, Mood::give_up).ok());
    const auto found = scan(spotter, Mood::good);
    REQUIRE(found.ok());
    CHECK(found->size() == 1);
}

TEST_CASE("A spotter is restarted only as often as allowed", "[plugin_host]") {
    auto options = quick_options();
    options.most_restarts = 2;
    auto spotter = started("moody", options);
    for (int i = 0; i < 2; ++i) {
        REQUIRE_FALSE(scan(spotter, Mood::crash).ok());
        REQUIRE(spotter.restart().ok());
    }
    REQUIRE_FALSE(scan(spotter, Mood::crash).ok());
    const auto again = spotter.restart();
    REQUIRE_FALSE(again.ok());
    CHECK_THAT(again.failure().sentence, Contains("'Test spotter moody' failed too often"));
}

TEST_CASE("Plugins that do not fit are refused with the reason", "[plugin_host]") {
    const auto [id, reason] = GENERATE(table<std::string, std::string>({
        {"too_new", "is not available: It was written for another version of Canalogue"},
        {"too_small", "is not available: It was written for another version of Canalogue"},
        {"not_a_plugin", "is not available: Its library is not a plugin"},
        {"cannot_work", "is not available: The model file lantern.onnx is missing; run the set-up."},
        {"impostor", "is not the one its plugin.json describes"},
        {"dies_at_load", "crashed"},
    }));
    const auto started = SpotterProcess::start(ill_plugin(id), quick_options());
    REQUIRE_FALSE(started.ok());
    CHECK_THAT(started.failure().sentence,
               Contains("The spotter 'Test spotter " + id + "'") && Contains(reason));
    CHECK_FALSE(any_child_left());
}

TEST_CASE("A missing runner is one sentence", "[plugin_host]") {
    auto options = quick_options();
    options.runner = "/nowhere/canalogue-plugin-runner";
    const auto started = SpotterProcess::start(ill_plugin("moody"), options);
    REQUIRE_FALSE(started.ok());
    CHECK_THAT(started.failure().sentence, Contains("canalogue-plugin-runner is missing"));
}

TEST_CASE("Fifty failures leave no process, descriptor or shared memory behind", "[plugin_host]") {
    const auto descriptors = entries("/proc/self/fd"), shared = entries("/dev/shm");
    for (int i = 0; i < 50; ++i) {
        auto spotter = started("moody");
        CHECK_FALSE(scan(spotter, i % 2 ? Mood::crash : Mood::nan_box).ok());
    }
    CHECK(entries("/proc/self/fd") == descriptors);
    CHECK(entries("/dev/shm") == shared);
    CHECK_FALSE(any_child_left());
    std::ifstream maps("/proc/self/maps");
    const std::string mapped((std::istreambuf_iterator<char>(maps)), {});
    CHECK_THAT(mapped, !Contains("canalogue-frame"));
}

TEST_CASE("A helper sees no descriptor, secret or file of the program", "[plugin_host]") {
    ::setenv("CANALOGUE_TEST_SECRET", "TEST-0000001", 1);
    const int stray = ::dup(1);  // inheritable, as a careless library would leave it
    auto options = quick_options();
    options.models = "/nowhere/models";
    auto snooper = started("snooper", options);
    auto seen = snoop(snooper);
    ::close(stray);
    ::unsetenv("CANALOGUE_TEST_SECRET");
    CHECK(seen["descriptors"] == "5");  // the three standard ones on /dev/null, socket, frame memory
    CHECK(seen["secret"] == "unseen");
    CHECK(seen["file"] == "could not write");
    CHECK(seen["core limit"] == "0");
    CHECK(seen["dumpable"] == "0");
    CHECK(seen["models"] == "/nowhere/models");
}

TEST_CASE("What a plugin prints goes nowhere", "[plugin_host]") {
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    const int out = ::dup(1), err = ::dup(2);
    ::dup2(ends[1], 1);
    ::dup2(ends[1], 2);
    bool scanned = false;
    {
        auto spotter = started("moody");
        scanned = scan(spotter, Mood::chatter).ok();
    }
    ::dup2(out, 1);
    ::dup2(err, 2);
    for (int fd : {out, err, ends[1]}) ::close(fd);
    char byte = 0;
    CHECK(scanned);
    CHECK(::read(ends[0], &byte, 1) == 0);  // end of the pipe, nothing before it
    ::close(ends[0]);
}

TEST_CASE("A helper outlives the thread that started it", "[plugin_host]") {
    std::optional<SpotterProcess> spotter;
    std::thread([&] { spotter.emplace(started("moody")); }).join();
    std::this_thread::sleep_for(100ms);
    CHECK(scan(*spotter, Mood::good).ok());
}

TEST_CASE("A helper dies with the program, even while its plugin hangs", "[plugin_host]") {
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    const pid_t program = ::fork();
    if (program == 0) {  // a program that is killed in the middle of a scan
        auto helper = started("snooper");
        const pid_t pid = std::stoi(snoop(helper)["process"]);
        auto hanging = started("moody");
        (void)hanging.begin_span(kSpan);
        [[maybe_unused]] const auto n = ::write(ends[1], &pid, sizeof pid);
        (void)show(hanging, Mood::hang);
        ::_exit(0);
    }
    pid_t helper = 0;
    REQUIRE(::read(ends[0], &helper, sizeof helper) == sizeof helper);
    for (int fd : ends) ::close(fd);
    std::this_thread::sleep_for(100ms);
    std::vector<pid_t> children;
    std::ifstream list("/proc/" + std::to_string(program) + "/task/" + std::to_string(program) + "/children");
    for (pid_t child; list >> child;) children.push_back(child);
    REQUIRE(children.size() == 2);
    CHECK(std::count(children.begin(), children.end(), helper) == 1);
    ::kill(program, SIGKILL);
    ::waitpid(program, nullptr, 0);
    for (const auto child : children) CHECK_FALSE(alive(child));
}

}  // namespace canalogue::tests
