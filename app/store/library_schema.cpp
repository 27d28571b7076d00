#include "app/store/library_schema.hpp"

namespace canalogue::store {

namespace {

// item.body and journal.payload: see library.hpp for what in them is sealed.
constexpr const char* kTables = R"sql(
CREATE TABLE session_key (session TEXT PRIMARY KEY, wrapped BLOB NOT NULL) WITHOUT ROWID;
CREATE TABLE item (
    session TEXT NOT NULL, kind TEXT NOT NULL, id TEXT NOT NULL, number INTEGER NOT NULL, body TEXT NOT NULL,
    PRIMARY KEY (session, kind, id)) WITHOUT ROWID;
CREATE TABLE journal (
    number INTEGER PRIMARY KEY, at TEXT NOT NULL, by TEXT NOT NULL, verb TEXT NOT NULL, session TEXT NOT NULL,
    sort INTEGER NOT NULL, target INTEGER NOT NULL, payload BLOB NOT NULL, previous BLOB NOT NULL, hash BLOB NOT NULL);
CREATE INDEX journal_by_session ON journal (session, number);
CREATE TABLE counter (session TEXT NOT NULL, letter TEXT NOT NULL, value INTEGER NOT NULL, PRIMARY KEY (session, letter)) WITHOUT ROWID;
CREATE TABLE sealed (session TEXT NOT NULL, what TEXT NOT NULL, id TEXT NOT NULL, bytes BLOB NOT NULL, PRIMARY KEY (session, what, id)) WITHOUT ROWID;
CREATE TABLE vault (one INTEGER PRIMARY KEY CHECK (one = 1), salt BLOB NOT NULL, public_key BLOB NOT NULL, secret BLOB NOT NULL);
)sql";

// Version 2. trace.bytes: one a step, see core/trace.hpp; no foreign part: a session's rows go by its id.
constexpr const char* kTraces = R"sql(
CREATE TABLE trace (
    session TEXT NOT NULL, recording TEXT NOT NULL, gauge TEXT NOT NULL, version TEXT NOT NULL, channel TEXT NOT NULL,
    step_ns INTEGER NOT NULL, from_ns INTEGER NOT NULL, bytes BLOB NOT NULL,
    PRIMARY KEY (session, recording, gauge, version, channel, from_ns)) WITHOUT ROWID;
)sql";

}  // namespace

Result<void> prepare_schema(Database& db) {
    try {
        Transaction transaction(db);
        auto query = db.prepare("PRAGMA user_version");
        query.step();
        const std::int64_t found = query.integer(0);
        if (found > kSchemaVersion)
            return refused("The library was written by a later version of the program: update this one to open it.");
        if (found < 1) db.run(kTables);
        if (found < 2) db.run(kTraces);
        if (found < kSchemaVersion) {
            db.run(("PRAGMA user_version=" + std::to_string(kSchemaVersion)).c_str());
        }
        transaction.commit();
    } catch (const DatabaseTrouble& t) {
        return t.failure();
    }
    return {};
}

}  // namespace canalogue::store
