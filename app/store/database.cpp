#include "app/store/database.hpp"

namespace canalogue::store {

namespace {
// Another window or command may be writing; half a minute covers the longest write we make.
constexpr int kPatienceMs = 30'000;

void check(sqlite3* db, int code) {
    if (code != SQLITE_OK && code != SQLITE_DONE && code != SQLITE_ROW) throw DatabaseTrouble{db ? sqlite3_extended_errcode(db) : code};
}
}  // namespace

Failure DatabaseTrouble::failure() const {
    switch (code & 0xff) {
        case SQLITE_FULL: return machine_trouble("The disk is full: nothing was changed. Free some space and try again.");
        case SQLITE_READONLY:
        case SQLITE_PERM:
        case SQLITE_CANTOPEN:
            return machine_trouble("The library cannot be written: check the folder's permissions. Nothing was changed.");
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return machine_trouble("Another program is using the library: close it and try again. Nothing was changed.");
        case SQLITE_CORRUPT:
        case SQLITE_NOTADB:
            return machine_trouble("The library's database is damaged: restore the folder from a backup, then run 'canalogue selfcheck'.");
        case SQLITE_IOERR: return machine_trouble("The library's disk reports an error: nothing was changed. Check the disk.");
        default:
            return machine_trouble(std::string("The library's database refused (") + sqlite3_errstr(code & 0xff) + "); nothing was changed. Try again.");
    }
}

Statement::Statement(sqlite3* db, const char* sql) : db_(db) {
    sqlite3_stmt* raw = nullptr;
    check(db, sqlite3_prepare_v2(db, sql, -1, &raw, nullptr));
    statement_.reset(raw);
}

Statement& Statement::bind(int at, std::int64_t v) {
    check(db_, sqlite3_bind_int64(statement_.get(), at, v));
    return *this;
}
Statement& Statement::bind(int at, std::string_view text) {
    check(db_, sqlite3_bind_text(statement_.get(), at, text.data(), static_cast<int>(text.size()), SQLITE_TRANSIENT));
    return *this;
}
Statement& Statement::bind_bytes(int at, std::string_view bytes) {
    check(db_, sqlite3_bind_blob(statement_.get(), at, bytes.data(), static_cast<int>(bytes.size()), SQLITE_TRANSIENT));
    return *this;
}
Statement& Statement::bind_null(int at) {
    check(db_, sqlite3_bind_null(statement_.get(), at));
    return *this;
}

bool Statement::step() {
    const int code = sqlite3_step(statement_.get());
    check(db_, code);
    return code == SQLITE_ROW;
}

std::int64_t Statement::integer(int column) const { return sqlite3_column_int64(statement_.get(), column); }
bool Statement::is_null(int column) const { return sqlite3_column_type(statement_.get(), column) == SQLITE_NULL; }
std::string Statement::text(int column) const {
    const auto* bytes = static_cast<const char*>(sqlite3_column_blob(statement_.get(), column));
    return bytes ? std::string(bytes, static_cast<std::size_t>(sqlite3_column_bytes(statement_.get(), column))) : std::string();
}

Result<Database> Database::open(const std::filesystem::path& file) {
    Database out;
    sqlite3* raw = nullptr;
    const int code = sqlite3_open_v2(file.c_str(), &raw, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr);
    out.db_.reset(raw);
    if (code != SQLITE_OK) return DatabaseTrouble{code}.failure();
    sqlite3_busy_timeout(raw, kPatienceMs);
    try {
        out.run("PRAGMA journal_mode=WAL");
        out.run("PRAGMA synchronous=FULL");
        out.run("PRAGMA foreign_keys=ON");
        out.run("PRAGMA secure_delete=ON");  // what is erased is overwritten
        out.run("PRAGMA temp_store=MEMORY");  // nothing of the library in temporary files
    } catch (const DatabaseTrouble& t) {
        return t.failure();
    }
    return out;
}

void Database::run(const char* sql) { check(db_.get(), sqlite3_exec(db_.get(), sql, nullptr, nullptr, nullptr)); }

Transaction::~Transaction() {
    if (!open_) return;
    try {
        db_.run("ROLLBACK");
    } catch (const DatabaseTrouble&) {
        // SQLite has rolled back by itself (disk full, I/O error); there is nothing left to undo.
    }
}

void Transaction::commit() {
    db_.run("COMMIT");
    open_ = false;
}

}  // namespace canalogue::store
