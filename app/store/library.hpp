// The case library: a folder with library.sqlite, its key, exports/, takes/ and cache/.
//
// Everything a session holds is an item (a kind, an id, a JSON body). Items change only through
// `commit`, which writes one journal row and its effect in one transaction: when it returns, the
// change is on disk. Journal rows are chained by hash. Undo and redo are rows too.
//
// The "private" member of a body and the whole journal payload are sealed with the session's key,
// which is itself sealed with the library's key (library.key beside the database): destroying a
// session's key makes what is sealed unreadable and leaves the chain whole.
//
// One object belongs to one thread; several objects (and processes) may open the same folder.
#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "app/core/result.hpp"
#include "app/core/session.hpp"
#include "app/core/trace.hpp"
#include "app/store/vault.hpp"

namespace canalogue::store {

using nlohmann::json;

// The kind of item a value is stored as.
template <class T>
struct Stored;
template <> struct Stored<Session> { static constexpr const char* kind = "session"; };
template <> struct Stored<Recording> { static constexpr const char* kind = "recording"; };
template <> struct Stored<Event> { static constexpr const char* kind = "event"; };
template <> struct Stored<Suspect> { static constexpr const char* kind = "suspect"; };
template <> struct Stored<Scanned> { static constexpr const char* kind = "scanned"; };
template <> struct Stored<Take> { static constexpr const char* kind = "take"; };
template <> struct Stored<Dismissed> { static constexpr const char* kind = "dismissed"; };

struct Change {
    std::string kind, id;
    std::optional<json> body;  // none: the item goes
};

template <class T>
Change put(const std::string& id, const T& value) { return {Stored<T>::kind, id, json(value)}; }
template <class T>
Change put(const T& value) { return put(value.id, value); }

struct Entry {
    std::string session;
    std::string verb;  // plain words without identifiers: "tag drum-visible"
    std::string by;    // who did it
    std::vector<Change> changes;
    bool undoable = true;
};

struct JournalRow {
    std::int64_t number = 0;
    std::string at;  // UTC, RFC 3339
    std::string by, verb, session;
};

Failure unreadable_entry();

std::string utc_now();  // RFC 3339

struct Health {
    std::int64_t rows = 0;
    std::optional<std::int64_t> broken_at;  // the first row whose chain does not hold
    bool database_whole = true;
    std::vector<std::string> astray;  // "suspect x3 of session s1": not what the journal made it
};

class Library {
  public:
    // Opens the folder, making it when it is new. Refuses network shares, where SQLite's WAL is unsafe.
    static Result<Library> open(const std::filesystem::path& folder);

    Library(Library&&) noexcept;
    Library& operator=(Library&&) noexcept;
    ~Library();

    const std::filesystem::path& folder() const;

    // Reading. Bodies come back with their private members opened; a body whose key was destroyed
    // comes without them.
    Result<std::vector<json>> bodies(const std::string& session, const std::string& kind) const;
    Result<std::optional<json>> body(const std::string& session, const std::string& kind, const std::string& id) const;
    Result<std::vector<std::string>> sessions() const;

    // Each item of a kind in order: its id, a text that is the same only while the item is (and what is sealed in it
    // can be opened as before), and its body, opened when asked for.
    using Each = std::function<void(const std::string& id, const std::string& stands, const std::function<json()>& open)>;
    Result<void> each(const std::string& session, const std::string& kind, const Each& use) const;

    template <class T>
    Result<std::vector<T>> all(const std::string& session) const {
        auto found = bodies(session, Stored<T>::kind);
        if (!found) return found.failure();
        std::vector<T> out;
        try {
            for (const auto& b : *found) out.push_back(b.template get<T>());
        } catch (const json::exception&) {
            return unreadable_entry();
        }
        if constexpr (requires(T t) { t.session; })
            for (auto& t : out) t.session = session;
        return out;
    }
    template <class T>
    Result<std::optional<T>> find(const std::string& session, const std::string& id) const {
        auto found = body(session, Stored<T>::kind, id);
        if (!found) return found.failure();
        if (!*found) return std::optional<T>{};
        try {
            return std::optional<T>((*found)->template get<T>());
        } catch (const json::exception&) {
            return unreadable_entry();
        }
    }

    // Durable when it returns. The row's number.
    Result<std::int64_t> commit(const Entry& entry);
    // What was undone or redone, in words. Refuses when there is nothing left, or when the item was
    // changed by something that cannot be undone.
    Result<std::string> undo(const std::string& session, const std::string& by);
    Result<std::string> redo(const std::string& session, const std::string& by);

    // The next id with this letter in the session: "e1", "e2"; never given twice.
    Result<std::string> next_id(const std::string& session, const std::string& letter);

    Result<std::vector<JournalRow>> journal(const std::string& session, std::int64_t after = 0) const;
    // The hash that the chain ends in, hexadecimal: what a sign-off signs.
    Result<std::string> chain_head() const;
    Result<Health> verify() const;
    // Items of the session that are not what its journal made them: "suspect x3". A cover whose span was
    // damaged on disk would uncover in silence.
    Result<std::vector<std::string>> astray(const std::string& session) const;

    // The vault (one per library).
    Result<std::optional<VaultRecord>> vault() const;
    Result<void> keep_vault(const VaultRecord& vault);
    // Sealed texts of a session, e.g. its known identifiers; sealed once more with the session's key.
    Result<void> keep_sealed(const std::string& session, const std::string& what, const std::string& id, std::string_view vault_sealed);
    Result<std::map<std::string, std::string>> sealed(const std::string& session, const std::string& what) const;  // by id

    // The sound of a take, sealed with the session's key in takes/; on disk when it returns. A take without
    // its item (see Take) is nobody's and may go.
    Result<void> keep_take(const std::string& session, const std::string& id, std::string_view bytes);
    Result<std::string> take(const std::string& session, const std::string& id) const;

    // Traces: one piece for each channel and measured span, durable together when it returns, without a
    // journal row. Pieces of a gauge's other versions go, and a piece of the same start is replaced.
    Result<void> keep_traces(const std::string& session, const std::vector<Trace>& pieces);
    // In order of recording, gauge, version, channel and time.
    Result<std::vector<Trace>> traces(const std::string& session) const;
    Result<void> forget_traces(const std::string& session);

  private:
    struct State;
    explicit Library(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

// All items of a kind, again and again: what stands as it did is not opened anew, so that a long session costs
// little more than its changes. Always tells what the library holds now. Belongs to the library's thread.
template <class T>
class Reread {
  public:
    Result<std::vector<T>> all(const Library& library, const std::string& session) {
        std::vector<T> out;
        out.reserve(known_.size() + 1);
        Known next;
        next.reserve(known_.size() + 1);
        if (session != session_) known_.clear();
        session_ = session;
        bool readable = true;
        auto done = library.each(session, Stored<T>::kind, [&](const std::string& id, const std::string& stands, const auto& open) {
            auto before = known_.extract(id);
            if (before.empty() || before.mapped().first != stands) {
                try {
                    T value = open().template get<T>();
                    if constexpr (requires { value.session; }) value.session = session;
                    out.push_back(value);
                    next.try_emplace(id, stands, std::move(value));
                } catch (const json::exception&) {
                    readable = false;
                }
                return;
            }
            out.push_back(before.mapped().second);
            next.insert(std::move(before));
        });
        known_ = std::move(next);
        if (!done) return done.failure();
        if (!readable) return unreadable_entry();
        return out;
    }

  private:
    using Known = std::unordered_map<std::string, std::pair<std::string, T>>;  // id -> how it stood, and what it is
    std::string session_;
    Known known_;
};

}  // namespace canalogue::store
