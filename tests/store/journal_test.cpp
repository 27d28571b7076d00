#include <algorithm>
#include <random>
#include <set>

#include "tests/store/library_folder.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

using Ids = std::vector<std::string>;

void write_rows(Library& library, int count) {
    for (int i = 1; i <= count; ++i) REQUIRE(library.commit(tagging(event("e" + std::to_string(i), "bleeding", i))).ok());
}

}  // namespace

TEST_CASE("The chain of an untouched journal holds, undo and redo rows included") {
    TempFolder folder;
    Library library = opened(folder.path());
    write_rows(library, 5);
    REQUIRE(library.undo("s1", "N. Example").ok());
    REQUIRE(library.redo("s1", "N. Example").ok());
    auto health = library.verify();
    REQUIRE(health.ok());
    CHECK(health->rows == 7);
    CHECK_FALSE(health->broken_at);
    CHECK(health->database_whole);
}

TEST_CASE("Changing any field of any journal row is seen at that row") {
    // Every column of the table, with another value of the same sort.
    const char* const changes[] = {"at='2020-01-01T00:00:00Z'", "by='Somebody Else'", "verb='delete e1'", "session='s2'", "sort=3", "target=1",
                                   "payload=zeroblob(length(payload))", "payload=x''", "previous=zeroblob(32)", "hash=zeroblob(32)", "number=number+100"};
    for (const char* change : changes)
        for (int row : {1, 3, 5}) {
            TempFolder folder;
            {
                Library library = opened(folder.path());
                write_rows(library, 5);
            }
            // zeroblob(32) is what row 1 begins from.
            if (row == 1 && std::string(change).starts_with("previous")) continue;
            sql(folder.path(), std::string("UPDATE journal SET ") + change + " WHERE number=" + std::to_string(row));
            auto health = opened(folder.path()).verify();
            REQUIRE(health.ok());
            INFO(change << " at row " << row);
            REQUIRE(health->broken_at);
            const bool at_row = *health->broken_at == row || (std::string(change).starts_with("number") && *health->broken_at >= row);
            CHECK(at_row);
        }
}

TEST_CASE("A row taken out of, or put into, the middle of the journal is seen") {
    TempFolder folder;
    {
        Library library = opened(folder.path());
        write_rows(library, 5);
    }
    SECTION("taken out") { sql(folder.path(), "DELETE FROM journal WHERE number=3"); }
    SECTION("exchanged") {
        sql(folder.path(), "UPDATE journal SET number=-1 WHERE number=3; UPDATE journal SET number=3 WHERE number=4; UPDATE journal SET number=4 WHERE number=-1");
    }
    SECTION("put in") { sql(folder.path(), "INSERT INTO journal SELECT number+10, at, by, verb, session, sort, target, payload, previous, hash FROM journal WHERE number=5"); }
    auto health = opened(folder.path()).verify();
    REQUIRE(health.ok());
    CHECK(health->broken_at);
}

TEST_CASE("The head of the chain tells that the newest rows were cut off") {
    TempFolder folder;
    std::string head;
    {
        Library library = opened(folder.path());
        write_rows(library, 5);
        head = *library.chain_head();
        CHECK(head.size() == 64);
    }
    sql(folder.path(), "DELETE FROM journal WHERE number=5");
    CHECK(*opened(folder.path()).chain_head() != head);
}

TEST_CASE("Undo and redo walk back and forth through everything that was done") {
    TempFolder folder;
    Library library = opened(folder.path());
    write_rows(library, 3);
    REQUIRE(library.commit(deleting("e2")).ok());
    CHECK(ids(library) == Ids{"e1", "e3"});
    REQUIRE(library.undo("s1", "x").ok());
    CHECK(ids(library) == Ids{"e1", "e2", "e3"});
    for (int i = 0; i < 3; ++i) REQUIRE(library.undo("s1", "x").ok());
    CHECK(ids(library).empty());
    auto none = library.undo("s1", "x");
    REQUIRE_FALSE(none.ok());
    CHECK(none.failure().trouble == Trouble::wrong_use);
    for (int i = 0; i < 4; ++i) REQUIRE(library.redo("s1", "x").ok());
    CHECK(ids(library) == Ids{"e1", "e3"});
    CHECK_FALSE(library.redo("s1", "x").ok());
}

TEST_CASE("Something new after an undo leaves nothing to redo") {
    TempFolder folder;
    Library library = opened(folder.path());
    write_rows(library, 2);
    REQUIRE(library.undo("s1", "x").ok());
    REQUIRE(library.commit(tagging(event("e9", "bleeding", 9))).ok());
    CHECK_FALSE(library.redo("s1", "x").ok());
    CHECK(ids(library) == Ids{"e1", "e9"});
    REQUIRE(library.undo("s1", "x").ok());
    REQUIRE(library.undo("s1", "x").ok());
    CHECK(ids(library).empty());
}

TEST_CASE("Undo puts every field back, also the sealed ones, and names what it took back") {
    TempFolder folder;
    Library library = opened(folder.path());
    Event e = event("e1", "advice", 3);
    e.note = "first words";
    e.attributes = {{"topic", "keep dry"}};
    REQUIRE(library.commit(tagging(e)).ok());
    Event changed = e;
    changed.ear = Ear::left;
    changed.note = "other words";
    changed.attributes = {};
    changed.at = at(4);
    REQUIRE(library.commit(tagging(changed)).ok());
    auto undone = library.undo("s1", "x");
    REQUIRE(undone.ok());
    CHECK(*undone == "tag advice");
    CHECK(nlohmann::json(**library.find<Event>("s1", "e1")) == nlohmann::json(e));
    REQUIRE(library.redo("s1", "x").ok());
    CHECK(nlohmann::json(**library.find<Event>("s1", "e1")) == nlohmann::json(changed));
}

TEST_CASE("Undo is refused when something that cannot be undone changed the same item since") {
    TempFolder folder;
    Library library = opened(folder.path());
    REQUIRE(library.commit(tagging(event("e1", "bleeding", 1))).ok());
    Entry fixed = tagging(event("e1", "bleeding", 2));
    fixed.undoable = false;
    REQUIRE(library.commit(fixed).ok());
    auto undone = library.undo("s1", "x");
    REQUIRE_FALSE(undone.ok());
    CHECK(undone.failure().trouble == Trouble::refused);
    CHECK((*library.find<Event>("s1", "e1"))->at == at(2));  // nothing was touched
    CHECK_FALSE(library.verify()->broken_at);
}

TEST_CASE("One act of many changes is undone as one") {
    TempFolder folder;
    Library library = opened(folder.path());
    Entry both = tagging(event("e1", "bleeding", 1));
    both.changes.push_back(store::put(event("e2", "bleeding", 2)));
    REQUIRE(library.commit(both).ok());
    REQUIRE(library.undo("s1", "x").ok());
    CHECK(ids(library).empty());
}

TEST_CASE("Each session has an undo of its own") {
    TempFolder folder;
    Library library = opened(folder.path());
    REQUIRE(library.commit(tagging(event("e1", "bleeding", 1), "s1")).ok());
    REQUIRE(library.commit(tagging(event("e1", "bleeding", 1), "s2")).ok());
    REQUIRE(library.undo("s1", "x").ok());
    CHECK(ids(library, "s1").empty());
    CHECK(ids(library, "s2") == Ids{"e1"});
    CHECK_FALSE(library.undo("s1", "x").ok());
}

TEST_CASE("An id is never given twice, whatever was deleted, undone, or opened again") {
    TempFolder folder;
    std::set<std::string> given;
    for (int round = 0; round < 3; ++round) {
        Library a = opened(folder.path()), b = opened(folder.path());
        for (int i = 0; i < 10; ++i)
            for (Library* library : {&a, &b}) {
                auto id = library->next_id("s1", "e");
                REQUIRE(id.ok());
                CHECK(given.insert(*id).second);
                REQUIRE(library->commit(tagging(event(*id, "bleeding", i))).ok());
                REQUIRE(library->undo("s1", "x").ok());
            }
    }
    CHECK(given.size() == 60);
    CHECK(*opened(folder.path()).next_id("s1", "x") == "x1");
    CHECK(*opened(folder.path()).next_id("s2", "e") == "e1");
}

TEST_CASE("Items come in the order of their numbers") {
    TempFolder folder;
    Library library = opened(folder.path());
    for (int i : {10, 2, 1, 9, 11}) REQUIRE(library.commit(tagging(event("e" + std::to_string(i), "bleeding", 1))).ok());
    CHECK(ids(library) == Ids{"e1", "e2", "e9", "e10", "e11"});
}

TEST_CASE("Two programs on one folder see each other's changes and keep one chain") {
    TempFolder folder;
    Library a = opened(folder.path()), b = opened(folder.path());
    for (int i = 1; i <= 20; ++i) REQUIRE((i % 2 ? a : b).commit(tagging(event("e" + std::to_string(i), "bleeding", i))).ok());
    CHECK(ids(a) == ids(b));
    CHECK(ids(a).size() == 20);
    REQUIRE(b.undo("s1", "x").ok());
    CHECK(ids(a).size() == 19);
    CHECK_FALSE(a.verify()->broken_at);
    CHECK(*a.chain_head() == *b.chain_head());
}

TEST_CASE("An item that is not what its journal made it is seen: changed, gone, put in, or its rows cut off") {
    TempFolder folder;
    {
        Library library = opened(folder.path());
        write_rows(library, 5);
        REQUIRE(library.undo("s1", "N. Example").ok());
        REQUIRE(library.undo("s1", "N. Example").ok());
        REQUIRE(library.redo("s1", "N. Example").ok());
        CHECK(library.verify()->astray.empty());
    }
    std::string wrong = "event e2";
    SECTION("changed") { sql(folder.path(), "UPDATE item SET body=replace(body, 'bleeding', 'bleedinh') WHERE id='e2'"); }
    SECTION("no longer readable") { sql(folder.path(), "UPDATE item SET body=substr(body, 5) WHERE id='e2'"); }
    SECTION("gone") { sql(folder.path(), "DELETE FROM item WHERE id='e2'"); }
    SECTION("put in") {
        sql(folder.path(), "INSERT INTO item SELECT session, kind, 'e9', 9, body FROM item WHERE id='e2'");
        wrong = "event e9";
    }
    SECTION("the newest rows cut off") {
        sql(folder.path(), "DELETE FROM journal WHERE number>3");
        wrong = "event e4";
    }
    const Library library = opened(folder.path());
    CHECK(library.astray("s1").value() == std::vector<std::string>{wrong});
    CHECK(library.verify()->astray == std::vector<std::string>{wrong + " of session s1"});
}

TEST_CASE("What is read again is always what the library holds, whoever changed it") {
    TempFolder folder;
    Library mine = opened(folder.path()), other = opened(folder.path());
    store::Reread<Event> again;
    std::mt19937 random(7);
    const auto same = [&](const std::string& session) {
        auto known = again.all(mine, session);
        auto anew = mine.all<Event>(session);
        REQUIRE(known.ok());
        REQUIRE(anew.ok());
        CHECK(store::json(*known) == store::json(*anew));
    };
    for (int round = 0; round < 60; ++round) {
        Library& by = round % 3 ? mine : other;
        const std::string id = "e" + std::to_string(random() % 12 + 1);
        switch (random() % 4) {
            case 0: REQUIRE(by.commit(deleting(id)).ok()); break;
            case 1: (void)by.undo("s1", "N. Example"); break;
            default: {
                Event e = event(id, "drum-visible", static_cast<double>(random() % 50));
                e.note = random() % 2 ? "a note, which is sealed" : "";
                REQUIRE(by.commit(tagging(e)).ok());
            }
        }
        same("s1");
    }
    REQUIRE(other.commit(tagging(event("e1", "piece-removed", 3), "s2")).ok());
    same("s2");
    same("s1");
}
