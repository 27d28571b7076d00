#include "tests/store/library_folder.hpp"

#include <sys/wait.h>
#include <unistd.h>

using namespace canalogue;
using namespace canalogue::test;

namespace {

void has_one_event(const fs::path& folder) {
    Library library = opened(folder);
    REQUIRE(library.commit(tagging(event("e1", "bleeding", 1))).ok());
}

// One sentence: ends with a full stop, has no line break, and no path of this machine.
void check_sentence(const Failure& f) {
    INFO(f.sentence);
    CHECK(f.sentence.size() > 20);
    CHECK(f.sentence.back() == '.');
    CHECK(f.sentence.find('\n') == std::string::npos);
    CHECK(f.sentence.find("/tmp") == std::string::npos);
}

// What opening the folder and writing to it says to somebody without the rights of root.
std::string said_to_a_plain_user(const fs::path& folder) {
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    const pid_t pid = fork();
    REQUIRE(pid >= 0);
    if (pid == 0) {
        constexpr uid_t kNobody = 65534;
        if (geteuid() == 0 && (setgid(kNobody) != 0 || setuid(kNobody) != 0)) _exit(1);
        auto library = Library::open(folder);
        std::string words = library ? "opened" : library.failure().sentence;
        if (library) {
            auto done = library->commit(tagging(event("e2", "bleeding", 2)));
            words = done ? "written" : done.failure().sentence;
        }
        if (write(ends[1], words.data(), words.size()) < 0) _exit(1);
        _exit(0);
    }
    close(ends[1]);
    std::string out;
    char block[512];
    for (ssize_t got; (got = read(ends[0], block, sizeof block)) > 0;) out.append(block, static_cast<std::size_t>(got));
    close(ends[0]);
    waitpid(pid, nullptr, 0);
    return out;
}

}  // namespace

TEST_CASE("A folder that may not be written is told in one sentence and stays as it was") {
    TempFolder folder;
    has_one_event(folder.path());
    if (geteuid() == 0) run("chown -R 65534:65534 '" + folder.path().string() + "'");
    run("chmod -R a-w '" + folder.path().string() + "'");
    const std::string before = read_file(folder / "library.sqlite");
    const std::string words = said_to_a_plain_user(folder.path());
    INFO(words);
    CHECK(words.find("cannot be written") != std::string::npos);
    CHECK(words.find("permission") != std::string::npos);
    CHECK(read_file(folder / "library.sqlite") == before);
    run("chmod -R u+w '" + folder.path().string() + "'");
    CHECK(ids(opened(folder.path())).size() == 1);
}

TEST_CASE("A key that another account owns is called unreadable, not missing") {
    TempFolder folder;
    has_one_event(folder.path());
    if (geteuid() != 0) {
        WARN("only root can make a file that the plain user may not read");
        return;
    }
    run("chmod a+rx '" + folder.path().string() + "'");
    const std::string words = said_to_a_plain_user(folder.path());
    INFO(words);
    CHECK(words.find("missing") == std::string::npos);
    CHECK(words.find("permission") != std::string::npos);
}

TEST_CASE("A place where no folder can be is told in one sentence") {
    TempFolder folder;
    write_file(folder / "file", "x");
    auto library = Library::open(folder / "file");
    REQUIRE_FALSE(library.ok());
    check_sentence(library.failure());
    auto below = Library::open(folder / "file/below");
    REQUIRE_FALSE(below.ok());
    check_sentence(below.failure());
}

TEST_CASE("A library of a later version is not opened, and not touched") {
    TempFolder folder;
    has_one_event(folder.path());
    sql(folder.path(), "PRAGMA user_version=99");
    const std::string before = read_file(folder / "library.sqlite");
    auto library = Library::open(folder.path());
    REQUIRE_FALSE(library.ok());
    CHECK(library.failure().trouble == Trouble::refused);
    CHECK(library.failure().sentence.find("later version") != std::string::npos);
    check_sentence(library.failure());
    CHECK(read_file(folder / "library.sqlite") == before);
}

TEST_CASE("A damaged database is told in one sentence") {
    TempFolder folder;
    has_one_event(folder.path());
    std::string bytes = read_file(folder / "library.sqlite");
    SECTION("its head") { std::fill_n(bytes.begin(), 100, 'x'); }
    SECTION("all of it") { bytes = std::string(5000, '\xff'); }
    SECTION("its tables") { std::fill(bytes.begin() + 100, bytes.end(), '\x7f'); }
    write_file(folder / "library.sqlite", bytes);
    auto library = Library::open(folder.path());
    if (library) {
        auto events = library->all<Event>("s1");
        REQUIRE_FALSE(events.ok());
        check_sentence(events.failure());
    } else {
        check_sentence(library.failure());
        CHECK(library.failure().sentence.find("damaged") != std::string::npos);
    }
}

TEST_CASE("A missing or damaged key is told in one sentence, and no new key takes its place") {
    TempFolder folder;
    has_one_event(folder.path());
    const std::string key = read_file(folder / "library.key");
    fs::remove(folder / "library.key");
    auto missing = Library::open(folder.path());
    REQUIRE_FALSE(missing.ok());
    check_sentence(missing.failure());
    CHECK(missing.failure().sentence.find("key") != std::string::npos);
    CHECK_FALSE(fs::exists(folder / "library.key"));
    write_file(folder / "library.key", "short");
    auto damaged = Library::open(folder.path());
    REQUIRE_FALSE(damaged.ok());
    check_sentence(damaged.failure());
    write_file(folder / "library.key", key);
    CHECK(ids(opened(folder.path())).size() == 1);
}

TEST_CASE("The key and the database can be read by their owner alone") {
    TempFolder folder;
    has_one_event(folder.path());
    for (const char* name : {"library.key", "library.sqlite"}) {
        INFO(name);
        CHECK(fs::status(folder / name).permissions() == (fs::perms::owner_read | fs::perms::owner_write));
    }
}

TEST_CASE("An entry that cannot be read is told in one sentence") {
    TempFolder folder;
    has_one_event(folder.path());
    sql(folder.path(), "UPDATE item SET body='{'");
    Library library = opened(folder.path());
    auto events = library.bodies("s1", "event");
    REQUIRE_FALSE(events.ok());
    check_sentence(events.failure());
}

TEST_CASE("An entry of a strange shape is told in one sentence and never ends the program") {
    TempFolder folder;
    has_one_event(folder.path());
    sql(folder.path(), "UPDATE item SET body='{\"id\":3}'");
    Library library = opened(folder.path());
    auto events = library.all<Event>("s1");
    REQUIRE_FALSE(events.ok());
    check_sentence(events.failure());
    auto one = library.find<Event>("s1", "e1");
    REQUIRE_FALSE(one.ok());
}
