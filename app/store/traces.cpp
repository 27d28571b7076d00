#include "app/store/traces.hpp"

namespace canalogue::store {

void write_traces(Database& db, const std::string& session, const std::vector<Trace>& pieces) {
    Transaction transaction(db);
    for (const auto& t : pieces) {
        db.prepare("DELETE FROM trace WHERE session=? AND recording=? AND gauge=? AND version<>?")
            .bind(1, session).bind(2, t.recording).bind(3, t.gauge).bind(4, t.version).step();
        db.prepare("INSERT OR REPLACE INTO trace VALUES (?,?,?,?,?,?,?,?)")
            .bind(1, session).bind(2, t.recording).bind(3, t.gauge).bind(4, t.version).bind(5, t.channel)
            .bind(6, t.step).bind(7, t.from.ns)
            .bind_bytes(8, {reinterpret_cast<const char*>(t.bytes.data()), t.bytes.size()}).step();
    }
    transaction.commit();
}

std::vector<Trace> read_traces(Database& db, const std::string& session) {
    std::vector<Trace> out;
    auto query = db.prepare("SELECT recording, gauge, version, channel, step_ns, from_ns, bytes FROM trace WHERE session=? "
                            "ORDER BY recording, gauge, version, channel, from_ns");
    query.bind(1, session);
    while (query.step()) {
        const std::string bytes = query.text(6);
        out.push_back({query.text(0), query.text(1), query.text(2), query.text(3), query.integer(4), {query.integer(5)},
                       {bytes.begin(), bytes.end()}});
    }
    return out;
}

void erase_traces(Database& db, const std::string& session) {
    db.prepare("DELETE FROM trace WHERE session=?").bind(1, session).step();
}

}  // namespace canalogue::store
