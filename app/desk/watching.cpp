#include "app/desk/watching.hpp"

#include <nlohmann/json.hpp>

namespace canalogue::desk {

using nlohmann::json;

namespace {

constexpr const char* kKind = "seen";
constexpr const char* kId = "seen";

json written(const Seen& seen) {
    json out = json::object();
    for (const auto& [recording, spans] : seen) {
        json list = json::array();
        for (const auto& s : spans) list.push_back({s.start.ns, s.end.ns});
        out[recording] = list;
    }
    return {{"recordings", out}};
}

}  // namespace

Result<Seen> seen(const Desk& desk, const std::string& session) {
    auto body = desk.library.body(session, kKind, kId);
    if (!body) return body.failure();
    Seen out;
    if (!*body) return out;
    try {
        for (const auto& [recording, spans] : (**body).at("recordings").items())
            for (const auto& s : spans) out[recording].push_back({{s.at(0).get<Nanos>()}, {s.at(1).get<Nanos>()}});
    } catch (const json::exception&) {
        return store::unreadable_entry();
    }
    return out;
}

Result<void> keep_seen(Desk& desk, const std::string& session, const Seen& more) {
    auto all = seen(desk, session);
    if (!all) return all.failure();
    for (const auto& [recording, spans] : more) {
        auto& into = (*all)[recording];
        into.insert(into.end(), spans.begin(), spans.end());
        into = united(std::move(into));
    }
    auto done = desk.library.commit({session, "watch", desk.person, {{kKind, kId, written(*all)}}, false});
    if (!done) return done.failure();
    return {};
}

Result<Seen> unseen(const Desk& desk, const std::string& session) {
    auto all = seen(desk, session);
    if (!all) return all.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    Seen out;
    for (const auto& r : *recordings)
        if (auto gaps = gaps_in(r.only, (*all)[r.id]); !gaps.empty()) out[r.id] = std::move(gaps);
    return out;
}

Result<void> forget_seen(Desk& desk, const std::string& session, const Seen& spans) {
    auto all = seen(desk, session);
    if (!all) return all.failure();
    bool changed = false;
    for (const auto& [recording, gone] : spans) {
        std::vector<RecordingSpan> left;
        for (const auto& s : (*all)[recording])
            for (const auto& part : gaps_in(s, gone)) left.push_back(part);
        changed = changed || left != (*all)[recording];
        (*all)[recording] = std::move(left);
    }
    if (!changed) return {};
    auto done = desk.library.commit({session, "watch again", desk.person, {{kKind, kId, written(*all)}}, false});
    if (!done) return done.failure();
    return {};
}

}  // namespace canalogue::desk
