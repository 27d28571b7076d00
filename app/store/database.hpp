// A thin, typed door to SQLite. Used by app/store alone. One database handle belongs to one thread.
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "app/core/result.hpp"

namespace canalogue::store {

// Thrown inside app/store when SQLite refuses; becomes a Failure at the edge of this floor.
struct DatabaseTrouble {
    int code = 0;
    Failure failure() const;
};

class Statement {
  public:
    Statement(sqlite3* db, const char* sql);
    Statement& bind(int at, std::int64_t v);
    Statement& bind(int at, std::string_view text);
    Statement& bind_bytes(int at, std::string_view bytes);
    Statement& bind_null(int at);
    bool step();  // true: there is a row
    std::int64_t integer(int column) const;
    std::string text(int column) const;
    bool is_null(int column) const;

  private:
    struct Finalize {
        void operator()(sqlite3_stmt* s) const { sqlite3_finalize(s); }
    };
    sqlite3* db_;
    std::unique_ptr<sqlite3_stmt, Finalize> statement_;
};

class Database {
  public:
    // Opens or makes the file: WAL, synchronous=FULL, foreign keys, secure delete.
    static Result<Database> open(const std::filesystem::path& file);

    void run(const char* sql);  // throws DatabaseTrouble
    Statement prepare(const char* sql) { return {db_.get(), sql}; }

  private:
    struct Close {
        void operator()(sqlite3* db) const { sqlite3_close(db); }
    };
    std::unique_ptr<sqlite3, Close> db_;
};

// Writes at once (BEGIN IMMEDIATE); rolled back unless committed.
class Transaction {
  public:
    explicit Transaction(Database& db) : db_(db) { db_.run("BEGIN IMMEDIATE"); }
    ~Transaction();
    Transaction(const Transaction&) = delete;
    Transaction& operator=(const Transaction&) = delete;
    void commit();

  private:
    Database& db_;
    bool open_ = true;
};

}  // namespace canalogue::store
