#include "tests/store/library_folder.hpp"

#include <csignal>
#include <sys/wait.h>
#include <unistd.h>

using namespace canalogue;
using namespace canalogue::test;

namespace {

struct Writer {
    pid_t pid = 0;
    int heard = -1;  // one byte for every commit that returned
};

// Another process that commits as fast as it can, until it is killed or has made `most`.
Writer start_writer(const fs::path& folder, const std::string& session, int most) {
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    const pid_t pid = fork();
    REQUIRE(pid >= 0);
    if (pid == 0) {
        close(ends[0]);
        auto library = Library::open(folder);
        if (!library) _exit(1);
        for (int i = 1; i <= most; ++i) {
            Event e = event("e" + std::to_string(i), "bleeding", i);
            e.note = "note " + std::to_string(i);
            if (!library->commit(tagging(e, session))) _exit(2);
            if (write(ends[1], ".", 1) != 1) _exit(3);
        }
        _exit(0);  // at once: no destructor, nothing flushed
    }
    close(ends[1]);
    return {pid, ends[0]};
}

// Everything the writer said before it died.
std::size_t commits_heard(const Writer& w) {
    std::size_t total = 0;
    char block[256];
    for (ssize_t got; (got = read(w.heard, block, sizeof block)) > 0;) total += static_cast<std::size_t>(got);
    close(w.heard);
    waitpid(w.pid, nullptr, 0);
    return total;
}

void check_all_there(const fs::path& folder, const std::string& session, std::size_t heard) {
    Library library = opened(folder);
    auto events = library.all<Event>(session);
    REQUIRE(events.ok());
    // One more may have reached the disk between its commit and its word about it.
    CHECK(events->size() >= heard);
    CHECK(events->size() <= heard + 1);
    for (std::size_t i = 0; i < events->size(); ++i) CHECK((*events)[i].note == "note " + std::to_string(i + 1));
    auto health = library.verify();
    REQUIRE(health.ok());
    CHECK_FALSE(health->broken_at);
    CHECK(health->database_whole);
    CHECK(health->rows == static_cast<std::int64_t>(events->size()));
}

}  // namespace

TEST_CASE("A program that vanishes right after a commit has lost nothing") {
    TempFolder folder;
    const Writer w = start_writer(folder.path(), "s1", 25);
    CHECK(commits_heard(w) == 25);
    check_all_there(folder.path(), "s1", 25);
}

TEST_CASE("Whenever a writer is killed, every commit that returned is there and no half one") {
    for (int round = 0; round < 12; ++round) {
        TempFolder folder;
        const Writer w = start_writer(folder.path(), "s1", 100'000);
        usleep(static_cast<useconds_t>(15'000 + 23'700 * round));
        kill(w.pid, SIGKILL);
        const std::size_t heard = commits_heard(w);
        INFO("round " << round << ", " << heard << " commits");
        if (!fs::exists(folder / "library.sqlite")) {
            CHECK(heard == 0);
            continue;
        }
        check_all_there(folder.path(), "s1", heard);
    }
}

TEST_CASE("Two writers at once lose nothing of each other's, even when one is killed") {
    TempFolder folder;
    opened(folder.path());
    const Writer a = start_writer(folder.path(), "a", 100'000), b = start_writer(folder.path(), "b", 60);
    usleep(150'000);
    kill(a.pid, SIGKILL);
    const std::size_t from_a = commits_heard(a), from_b = commits_heard(b);
    CHECK(from_b == 60);
    Library library = opened(folder.path());
    CHECK(library.all<Event>("a")->size() >= from_a);
    CHECK(library.all<Event>("b")->size() == 60);
    CHECK_FALSE(library.verify()->broken_at);
}
