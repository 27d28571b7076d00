#include "app/store/library.hpp"

#include <chrono>
#include <ctime>
#include <map>

#include "app/store/database.hpp"
#include "app/store/guarded.hpp"
#include "app/store/journal.hpp"
#include "app/store/library_files.hpp"
#include "app/store/library_schema.hpp"
#include "app/store/replay.hpp"
#include "app/store/traces.hpp"

namespace canalogue::store {

namespace fs = std::filesystem;

namespace {

constexpr const char* kPrivate = "private";
constexpr const char* kSealed = "sealed";

}  // namespace

std::string utc_now() {
    const std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
    std::tm parts{};
    gmtime_r(&now, &parts);
    char text[32];
    std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &parts);
    return text;
}

struct Library::State {
    fs::path folder;
    Database db;
    SealKey key;
    mutable std::map<std::string, SealKey> session_keys;

    // The session's key; made when `make` says so, else none for a session without (or erased).
    std::optional<SealKey> session_key(const std::string& session, bool make) {
        if (auto it = session_keys.find(session); it != session_keys.end()) return it->second;
        auto query = db.prepare("SELECT wrapped FROM session_key WHERE session=?");
        query.bind(1, session);
        if (query.step()) {
            auto bytes = key.open(query.text(0));
            if (!bytes) return std::nullopt;
            const auto found = SealKey::from_bytes(*bytes);
            if (found) session_keys.emplace(session, *found);
            return found;
        }
        if (!make) return std::nullopt;
        const SealKey fresh = SealKey::fresh();
        db.prepare("INSERT INTO session_key VALUES (?,?)").bind(1, session).bind_bytes(2, key.seal(fresh.bytes())).step();
        return fresh;  // remembered once it is read back: this transaction may yet be rolled back
    }

    std::string sealed_body(const json& body, const SealKey& with) const {
        if (!body.contains(kPrivate)) return body.dump();
        json out = body;
        out[kSealed] = base64(with.seal(body[kPrivate].dump()));
        out.erase(kPrivate);
        return out.dump();
    }

    json opened_body(const std::string& text, const std::optional<SealKey>& with) const {
        json body = json::parse(text);
        const auto it = body.find(kSealed);
        if (it == body.end()) return body;
        if (with)
            if (auto sealed = from_base64(it->get<std::string>()))
                if (auto plain = with->open(*sealed)) body[kPrivate] = json::parse(*plain);
        body.erase(kSealed);
        return body;
    }

    std::optional<json> read(const std::string& session, const std::string& kind, const std::string& id) {
        auto query = db.prepare("SELECT body FROM item WHERE session=? AND kind=? AND id=?");
        query.bind(1, session).bind(2, kind).bind(3, id);
        if (!query.step()) return std::nullopt;
        return opened_body(query.text(0), session_key(session, false));
    }

    // Ids count up with a letter in front, so that "e10" comes after "e9".
    static std::int64_t number_in(const std::string& id) {
        const auto digit = id.find_first_of("0123456789");
        return digit == std::string::npos ? 0 : std::strtoll(id.c_str() + digit, nullptr, 10);
    }

    void write(const std::string& session, const std::string& kind, const std::string& id, const std::optional<json>& body, const SealKey& with) {
        if (!body) {
            db.prepare("DELETE FROM item WHERE session=? AND kind=? AND id=?").bind(1, session).bind(2, kind).bind(3, id).step();
            return;
        }
        db.prepare("INSERT OR REPLACE INTO item VALUES (?,?,?,?,?)").bind(1, session).bind(2, kind).bind(3, id)
            .bind(4, number_in(id)).bind(5, sealed_body(*body, with)).step();
    }

    std::string head() {
        auto query = db.prepare("SELECT hash FROM journal ORDER BY number DESC LIMIT 1");
        return query.step() ? query.text(0) : std::string(32, '\0');
    }

    std::int64_t append(const Entry& e, Step::Sort sort, std::int64_t target, const json& payload, const SealKey& with) {
        ChainedRow row;
        auto last = db.prepare("SELECT coalesce(max(number),0) FROM journal");
        last.step();
        row.number = last.integer(0) + 1;
        row.at = utc_now();
        row.by = e.by;
        row.verb = e.verb;
        row.session = e.session;
        row.payload = with.seal(payload.dump());
        row.sort = static_cast<std::int64_t>(sort);
        row.target = target;
        row.previous = head();
        row.hash = chain_hash(row);
        db.prepare("INSERT INTO journal VALUES (?,?,?,?,?,?,?,?,?,?)").bind(1, row.number).bind(2, row.at).bind(3, row.by)
            .bind(4, row.verb).bind(5, row.session).bind(6, row.sort).bind(7, row.target)
            .bind_bytes(8, row.payload).bind_bytes(9, row.previous).bind_bytes(10, row.hash).step();
        return row.number;
    }

    std::vector<Step> steps(const std::string& session) {
        std::vector<Step> out;
        auto query = db.prepare("SELECT number, sort, target FROM journal WHERE session=? ORDER BY number");
        query.bind(1, session);
        while (query.step()) out.push_back({query.integer(0), static_cast<Step::Sort>(query.integer(1)), query.integer(2)});
        return out;
    }

    // Items that are not what the journal made them; none can be told where the session's key is gone.
    std::vector<std::string> astray(const std::string& session) {
        const auto with = session_key(session, false);
        if (!with) return {};
        Replay replay;
        auto rows = db.prepare("SELECT number, sort, target, payload FROM journal WHERE session=? ORDER BY number");
        rows.bind(1, session);
        while (rows.step()) {
            const auto plain = with->open(rows.text(3));
            if (!plain) return {"journal row " + std::to_string(rows.integer(0))};
            replay.add({rows.integer(0), static_cast<Step::Sort>(rows.integer(1)), rows.integer(2)}, json::parse(*plain));
        }
        auto items = db.prepare("SELECT kind, id, body FROM item WHERE session=?");
        items.bind(1, session);
        while (items.step()) {
            const json body = json::parse(items.text(2), nullptr, false);
            replay.found(items.text(0), items.text(1), body.is_object() ? opened_body(items.text(2), with) : json());
        }
        return replay.astray();
    }

    // Undo and redo: swaps each item of row `target` between its two states.
    Result<std::string> swing(const std::string& session, const std::string& by, bool back) {
        const char* word = back ? "undo" : "redo";
        Transaction transaction(db);
        const Reach now = reach(steps(session));
        const auto target = back ? now.undo : now.redo;
        if (!target) return wrong_use(std::string("There is nothing to ") + word + " in this session.");
        auto query = db.prepare("SELECT verb, payload FROM journal WHERE number=?");
        query.bind(1, *target);
        query.step();
        const std::string verb = query.text(0);
        const auto with = session_key(session, false);
        const auto plain = with ? with->open(query.text(1)) : std::nullopt;
        if (!plain) return refused("The session's key was destroyed; its past cannot be brought back.");
        const json changes = json::parse(*plain);
        for (auto it = changes.rbegin(); it != changes.rend(); ++it) {
            const json& from = (*it)[back ? "after" : "before"];
            const json& to = (*it)[back ? "before" : "after"];
            const auto current = read(session, (*it)["kind"], (*it)["id"]);
            if ((current ? *current : json()) != from)
                return refused(std::string("'") + verb + "' cannot be taken back: what it changed was changed again since by something else.");
            write(session, (*it)["kind"], (*it)["id"], to.is_null() ? std::nullopt : std::optional<json>(to), *with);
        }
        append({session, std::string(word) + ": " + verb, by, {}, true}, back ? Step::Sort::undo : Step::Sort::redo, *target, json::array(), *with);
        transaction.commit();
        return verb;
    }
};

Library::Library(std::unique_ptr<State> state) : state_(std::move(state)) {}
Library::Library(Library&&) noexcept = default;
Library& Library::operator=(Library&&) noexcept = default;
Library::~Library() = default;

const fs::path& Library::folder() const { return state_->folder; }

Result<Library> Library::open(const fs::path& folder) {
    if (!sealing_ready()) return machine_trouble("The system gives no random numbers, so nothing can be sealed.");
    std::error_code ec;
    fs::create_directories(folder, ec);
    if (!fs::is_directory(folder, ec))
        return machine_trouble("The library's folder cannot be made: check the place given with --library and its permissions.");
    if (is_network_share(folder))
        return refused("The library's folder is on a network share, where its database is not safe: choose a folder on a local disk.");
    const bool is_new = !fs::exists(folder / "library.sqlite", ec);
    auto key = library_key(folder, is_new);
    if (!key) return key.failure();
    auto db = Database::open(folder / "library.sqlite");
    if (!db) return db.failure();
    if (auto ready = prepare_schema(*db); !ready) return ready.failure();
    if (is_new) fs::permissions(folder, fs::perms::owner_all, ec);  // an older one may be shared on purpose
    for (const char* sub : {"exports", "takes", "cache"}) {
        fs::create_directories(folder / sub, ec);
        fs::permissions(folder / sub, fs::perms::owner_all, ec);  // held exports may show who somebody is
    }
    fs::permissions(folder / "library.sqlite", fs::perms::owner_read | fs::perms::owner_write, ec);
    return Library(std::make_unique<State>(State{folder, std::move(*db), *key, {}}));
}

Failure unreadable_entry() {
    return machine_trouble("The library holds an entry that cannot be read: restore it from a backup and run 'canalogue selfcheck'.");
}

Result<void> Library::each(const std::string& session, const std::string& kind, const Each& use) const {
    return guarded([&]() -> Result<void> {
        const auto with = state_->session_key(session, false);
        auto query = state_->db.prepare("SELECT id, body FROM item WHERE session=? AND kind=? ORDER BY number, id");
        query.bind(1, session).bind(2, kind);
        while (query.step()) {
            const std::string text = query.text(1);
            use(query.text(0), (with ? "+" : "-") + text, [&] { return state_->opened_body(text, with); });
        }
        return {};
    });
}

Result<std::vector<json>> Library::bodies(const std::string& session, const std::string& kind) const {
    std::vector<json> out;
    auto done = each(session, kind, [&](const std::string&, const std::string&, const auto& open) { out.push_back(open()); });
    if (!done) return done.failure();
    return out;
}

Result<std::optional<json>> Library::body(const std::string& session, const std::string& kind, const std::string& id) const {
    return guarded([&]() -> Result<std::optional<json>> { return state_->read(session, kind, id); });
}

Result<std::vector<std::string>> Library::sessions() const {
    return guarded([&]() -> Result<std::vector<std::string>> {
        std::vector<std::string> out;
        auto query = state_->db.prepare("SELECT id FROM item WHERE kind='session' ORDER BY id");
        while (query.step()) out.push_back(query.text(0));
        return out;
    });
}

Result<std::int64_t> Library::commit(const Entry& entry) {
    return guarded([&]() -> Result<std::int64_t> {
        Transaction transaction(state_->db);
        const auto with = state_->session_key(entry.session, true);
        if (!with) return refused("The session's key was destroyed; nothing can be added to it.");
        json payload = json::array();
        for (const auto& c : entry.changes) {
            const auto before = state_->read(entry.session, c.kind, c.id);
            payload.push_back({{"kind", c.kind}, {"id", c.id}, {"before", before ? *before : json()}, {"after", c.body ? *c.body : json()}});
            state_->write(entry.session, c.kind, c.id, c.body, *with);
        }
        const auto row = state_->append(entry, entry.undoable ? Step::Sort::act : Step::Sort::fixed, 0, payload, *with);
        transaction.commit();
        return row;
    });
}

Result<std::string> Library::undo(const std::string& session, const std::string& by) {
    return guarded([&] { return state_->swing(session, by, true); });
}

Result<std::string> Library::redo(const std::string& session, const std::string& by) {
    return guarded([&] { return state_->swing(session, by, false); });
}

Result<std::string> Library::next_id(const std::string& session, const std::string& letter) {
    return guarded([&]() -> Result<std::string> {
        auto query = state_->db.prepare("INSERT INTO counter VALUES (?,?,1) ON CONFLICT DO UPDATE SET value=value+1 RETURNING value");
        query.bind(1, session).bind(2, letter).step();
        const std::int64_t value = query.integer(0);
        query.step();
        return letter + std::to_string(value);
    });
}

Result<std::vector<JournalRow>> Library::journal(const std::string& session, std::int64_t after) const {
    return guarded([&]() -> Result<std::vector<JournalRow>> {
        std::vector<JournalRow> out;
        auto query = state_->db.prepare("SELECT number, at, by, verb, session FROM journal WHERE session=? AND number>? ORDER BY number");
        query.bind(1, session).bind(2, after);
        while (query.step()) out.push_back({query.integer(0), query.text(1), query.text(2), query.text(3), query.text(4)});
        return out;
    });
}

Result<std::string> Library::chain_head() const {
    return guarded([&]() -> Result<std::string> { return hexadecimal(state_->head()); });
}

Result<Health> Library::verify() const {
    return guarded([&]() -> Result<Health> {
        Health health;
        std::string previous(32, '\0');
        auto query = state_->db.prepare("SELECT number, at, by, verb, session, payload, sort, target, previous, hash FROM journal ORDER BY number");
        while (query.step()) {
            ++health.rows;
            const ChainedRow row{query.integer(0), query.text(1), query.text(2), query.text(3), query.text(4), query.text(5), query.integer(6), query.integer(7), query.text(8), query.text(9)};
            if (!health.broken_at && (row.number != health.rows || row.previous != previous || row.hash != chain_hash(row)))
                health.broken_at = row.number;
            previous = row.hash;
        }
        auto whole = state_->db.prepare("PRAGMA quick_check");
        health.database_whole = whole.step() && whole.text(0) == "ok";
        auto sessions = state_->db.prepare("SELECT session FROM journal UNION SELECT session FROM item");
        while (sessions.step())
            for (const auto& item : state_->astray(sessions.text(0))) health.astray.push_back(item + " of session " + sessions.text(0));
        return health;
    });
}

Result<std::vector<std::string>> Library::astray(const std::string& session) const {
    return guarded([&]() -> Result<std::vector<std::string>> { return state_->astray(session); });
}

Result<std::optional<VaultRecord>> Library::vault() const {
    return guarded([&]() -> Result<std::optional<VaultRecord>> {
        auto query = state_->db.prepare("SELECT salt, public_key, secret FROM vault");
        if (!query.step()) return std::optional<VaultRecord>{};
        return std::optional<VaultRecord>(VaultRecord{query.text(0), query.text(1), query.text(2)});
    });
}

Result<void> Library::keep_vault(const VaultRecord& v) {
    return guarded([&]() -> Result<void> {
        state_->db.prepare("INSERT INTO vault VALUES (1,?,?,?)").bind_bytes(1, v.salt).bind_bytes(2, v.public_key).bind_bytes(3, v.sealed_secret).step();
        return {};
    });
}

Result<void> Library::keep_sealed(const std::string& session, const std::string& what, const std::string& id, std::string_view vault_sealed) {
    return guarded([&]() -> Result<void> {
        Transaction transaction(state_->db);
        const auto with = state_->session_key(session, true);
        if (!with) return refused("The session's key was destroyed; nothing can be added to it.");
        state_->db.prepare("INSERT OR REPLACE INTO sealed VALUES (?,?,?,?)").bind(1, session).bind(2, what).bind(3, id).bind_bytes(4, with->seal(vault_sealed)).step();
        transaction.commit();
        return {};
    });
}

Result<std::map<std::string, std::string>> Library::sealed(const std::string& session, const std::string& what) const {
    return guarded([&]() -> Result<std::map<std::string, std::string>> {
        std::map<std::string, std::string> out;
        const auto with = state_->session_key(session, false);
        auto query = state_->db.prepare("SELECT id, bytes FROM sealed WHERE session=? AND what=?");
        query.bind(1, session).bind(2, what);
        while (query.step())
            if (auto plain = with ? with->open(query.text(1)) : std::nullopt) out.emplace(query.text(0), *plain);
        return out;
    });
}

Result<void> Library::keep_take(const std::string& session, const std::string& id, std::string_view bytes) {
    return guarded([&]() -> Result<void> {
        Transaction transaction(state_->db);
        const auto with = state_->session_key(session, true);
        if (!with) return refused("The session's key was destroyed; nothing can be added to it.");
        transaction.commit();
        return write_whole(take_file(state_->folder, session, id), with->seal(bytes));
    });
}

Result<std::string> Library::take(const std::string& session, const std::string& id) const {
    return guarded([&]() -> Result<std::string> {
        const auto with = state_->session_key(session, false);
        const auto sealed = read_whole(take_file(state_->folder, session, id));
        auto plain = with && sealed ? with->open(*sealed) : std::nullopt;
        if (!plain) return machine_trouble("The sound of take " + id + " is missing or damaged: restore the library's takes folder from a backup, or record it again.");
        return *plain;
    });
}

Result<void> Library::keep_traces(const std::string& session, const std::vector<Trace>& pieces) {
    return guarded([&]() -> Result<void> {
        write_traces(state_->db, session, pieces);
        return {};
    });
}

Result<std::vector<Trace>> Library::traces(const std::string& session) const {
    return guarded([&]() -> Result<std::vector<Trace>> { return read_traces(state_->db, session); });
}

Result<void> Library::forget_traces(const std::string& session) {
    return guarded([&]() -> Result<void> {
        erase_traces(state_->db, session);
        return {};
    });
}

}  // namespace canalogue::store
