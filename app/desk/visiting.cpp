#include "app/desk/visiting.hpp"

#include <algorithm>

#include "app/core/text.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/planning.hpp"
#include "app/desk/sources.hpp"

namespace canalogue::desk {

namespace {

// What a render would stumble over, as far as it can be told without reading files.
std::string against(const Desk& desk, const Visit& visit, bool unlocked) {
    if (visit.recordings.empty()) return "It has no recording.";
    for (const auto& r : visit.recordings) {
        std::error_code ec;
        if (r.hash.empty()) return "Recording " + r.id + " is still being read.";
        if (!std::filesystem::exists(r.path, ec)) return "Recording " + r.id + " is not where it was.";
    }
    auto sealed = count_known(desk, visit.session);
    if (!sealed) return sealed.failure().sentence;
    if (*sealed > 0 && !unlocked) return "Names are sealed for it: unlock the library (Privacy desk), so that a film can be compared with them.";
    if (auto whole = nothing_astray(desk, visit.session); !whole) return whole.failure().sentence;
    return "";
}

Result<Visit> visit(const Desk& desk, const std::string& session) {
    Visit out;
    out.session = session;
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    out.recordings = std::move(*recordings);
    auto events = desk.accepted_events(session);
    if (!events) return events.failure();
    auto vocabulary = desk.vocabulary_of(session);
    if (!vocabulary) return vocabulary.failure();
    for (const auto& e : *events)
        if (const EventKind* kind = vocabulary->find(e.kind)) out.moments.push_back({e.recording, e.at, e.ear, kind->name});
    if (auto plan = kept_plan(desk, session); plan && *plan) out.title = (*plan)->title;
    return out;
}

}  // namespace

Result<void> nothing_astray(const Desk& desk, const std::string& session) {
    auto items = desk.library.astray(session);
    if (!items) return items.failure();
    if (items->empty()) return {};
    return refused("The library was changed outside this program (" + items->front() + (items->size() > 1 ? " and others" : "") + "), so no film is made: restore its folder from a backup; 'canalogue selfcheck' lists what differs.");
}

Result<std::vector<Visit>> visits(const Desk& desk, const std::string& session, bool unlocked) {
    auto ids = desk.library.sessions();
    if (!ids) return ids.failure();
    std::stable_partition(ids->begin(), ids->end(), [&](const std::string& id) { return id == session; });
    std::vector<Visit> out;
    for (const auto& id : *ids) {
        auto each = visit(desk, id);
        if (!each) return each.failure();
        if (id != session) each->against = against(desk, *each, unlocked);
        out.push_back(std::move(*each));
    }
    return out;
}

std::set<std::string> visits_of(const Plan& plan, const std::string& session) {
    std::set<std::string> out;
    for (const auto& item : plan.items)
        if (const auto* p = std::get_if<Passage>(&item); p && p->beside && !p->beside->session.empty() && p->beside->session != session) out.insert(p->beside->session);
    return out;
}

Result<std::vector<film::SourceRecording>> visit_sources(Desk& desk, const Plan& plan, const std::string& session, Audience audience, const Progress& progress) {
    std::vector<film::SourceRecording> out;
    for (const auto& id : visits_of(plan, session)) {
        if (auto s = desk.session(id); !s) return wrong_use("The plan shows session '" + legible(id) + "' beside this one, and the library does not have it.");
        if (auto ok = nothing_astray(desk, id); !ok) return ok.failure();
        auto sources = sources_for(desk, id, audience, progress);
        if (!sources) return sources.failure();
        for (auto& s : *sources) {
            s.recording.id = id + "/" + s.recording.id;
            out.push_back(std::move(s));
        }
    }
    return out;
}

}  // namespace canalogue::desk
