// A pulled plug: what a commit promised is there, although everything that was not synced is gone.
#include <catch2/catch.hpp>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>

#include "app/store/library.hpp"
#include "tests/store/forgetful_vfs.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::store;
using namespace canalogue::test;

namespace {

// A process of its own writes until the power goes: after `commits` that returned, in the middle of the
// next one. Tells how many returned, and how many writes the power cut undid.
struct Told {
    int returned = 0;
    long undone = 0;
};

Told write_until_the_power_goes(const fs::path& folder, int commits) {
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    const pid_t child = fork();
    if (child == 0) {
        use_forgetful_vfs();
        Told told;
        auto library = Library::open(folder);
        if (!library) _exit(1);
        for (int i = 0; i < commits; ++i) {
            const std::string id = *library->next_id("s1", "e");
            if (!library->commit({"s1", "tag", "tester", {{"event", id, json{{"id", id}}}}})) _exit(2);
            told.returned = i + 1;
        }
        // One that has begun and not returned: an id is drawn and written, no more.
        (void)library->next_id("s1", "e");
        power_goes();
        told.undone = writes_undone();
        if (write(ends[1], &told, sizeof told) != sizeof told) _exit(3);
        _exit(0);  // without closing anything
    }
    close(ends[1]);
    Told told;
    const ssize_t got = read(ends[0], &told, sizeof told);
    close(ends[0]);
    int status = 0;
    waitpid(child, &status, 0);
    REQUIRE(WIFEXITED(status));
    REQUIRE(WEXITSTATUS(status) == 0);
    REQUIRE(got == sizeof told);
    return told;
}

}  // namespace

TEST_CASE("When the power goes, every commit that returned is there, the chain holds, and the next one works") {
    TempFolder folder;
    const fs::path place = folder / "library";
    REQUIRE(Library::open(place).ok());  // made before, as a library is
    std::size_t expected = 0;
    for (const int commits : {1, 2, 3, 7, 20, 40}) {
        const Told told = write_until_the_power_goes(place, commits);
        expected += static_cast<std::size_t>(told.returned);
        auto library = Library::open(place);
        REQUIRE(library.ok());
        INFO(commits << " commits, " << told.undone << " writes undone");
        CHECK(library->bodies("s1", "event")->size() == expected);
        const auto health = library->verify();
        REQUIRE(health.ok());
        CHECK(health->database_whole);
        CHECK_FALSE(health->broken_at);
        CHECK(health->rows == static_cast<std::int64_t>(expected));
    }
}
