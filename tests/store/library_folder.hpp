// A library in a folder of its own, and what tests do to it behind its back with SQLite itself.
#pragma once

#include <catch2/catch.hpp>
#include <sqlite3.h>

#include "app/store/library.hpp"
#include "tests/core/values.hpp"
#include "tests/support/media_files.hpp"

namespace canalogue::test {

using store::Entry;
using store::Library;

inline Library opened(const fs::path& folder) {
    auto library = Library::open(folder);
    if (!library) throw std::runtime_error(library.failure().sentence);
    return std::move(*library);
}

inline Entry tagging(const Event& e, const std::string& session = "s1") {
    return {session, "tag " + e.kind, "N. Example", {store::put(e)}, true};
}

inline Entry deleting(const std::string& id, const std::string& session = "s1") {
    return {session, "delete " + id, "N. Example", {{"event", id, std::nullopt}}, true};
}

// Runs SQL on the closed library's database; throws with SQLite's words.
inline void sql(const fs::path& folder, const std::string& text) {
    sqlite3* db = nullptr;
    char* words = nullptr;
    const int opened = sqlite3_open((folder / "library.sqlite").c_str(), &db);
    const int done = opened == SQLITE_OK ? sqlite3_exec(db, text.c_str(), nullptr, nullptr, &words) : opened;
    const std::string trouble = words ? words : "";
    sqlite3_free(words);
    sqlite3_close(db);
    if (done != SQLITE_OK) throw std::runtime_error("SQL: " + trouble);
}

inline std::vector<std::string> ids(const Library& library, const std::string& session = "s1") {
    std::vector<std::string> out;
    auto events = library.all<Event>(session);
    REQUIRE(events.ok());
    for (const auto& e : *events) out.push_back(e.id);
    return out;
}

}  // namespace canalogue::test
