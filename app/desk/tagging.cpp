#include "app/desk/tagging.hpp"

#include <algorithm>
#include <ctime>

#include "app/core/event_rules.hpp"
#include "app/core/text.hpp"
#include "app/desk/gauging.hpp"
#include "app/desk/watching.hpp"

namespace canalogue::desk {

namespace {

Failure no_picture(const std::vector<Recording>& recordings, SessionTime t) {
    if (recordings.empty()) return wrong_use("The session has no recording yet; import one first.");
    return wrong_use("No recording of the session shows " + format_time(t.ns) + "; it runs from " + format_time(recordings.front().session_span().start.ns) +
                     " to " + format_time(recordings.back().session_span().end.ns) + ".");
}

Result<const Recording*> recording_of(const std::vector<Recording>& recordings, const std::string& id) {
    for (const auto& r : recordings)
        if (r.id == id) return &r;
    return machine_trouble("The event's recording '" + id + "' is missing from the library; run 'canalogue selfcheck'.");
}

Result<void> set_all(Event& e, const EventKind& kind, const std::vector<std::pair<std::string, std::string>>& attributes) {
    for (const auto& [id, value] : attributes)
        if (auto ok = set_attribute(e, kind, id, value); !ok) return ok;
    return {};
}

Tagged tagged(const Event& e, const EventKind& kind, const Recording& r) {
    return {e, r.session_time(e.at), described(e, kind, FreeText::keep), warnings_for(e, kind, r)};
}

}  // namespace

Result<Tagged> tag(Desk& desk, const TagWish& wish) {
    auto vocabulary = desk.vocabulary_of(wish.session);
    if (!vocabulary) return vocabulary.failure();
    auto kind = vocabulary->named(wish.kind);
    if (!kind) return kind.failure();
    auto recordings = desk.recordings(wish.session);
    if (!recordings) return recordings.failure();
    const Recording* r = recording_at(*recordings, wish.at);
    if (!r) return no_picture(*recordings, wish.at);
    Event e;
    e.kind = wish.kind;
    e.recording = r->id;
    e.at = r->recording_time(wish.at);
    if (wish.until) e.until = r->recording_time(*wish.until);
    auto note = one_line(wish.note, "The note");
    if (!note) return note.failure();
    e.note = *note;
    e.author = desk.person;
    const auto ear = wish.ear ? wish.ear : r->ear_at(e.at);
    if (!ear) return wrong_use("Which ear? Nothing says which side the recording shows at " + format_time(wish.at.ns) + ": add --ear right or --ear left.");
    e.ear = *ear;
    for (const auto& [key, value] : wish.attributes)
        if (value.empty()) return wrong_use("'" + legible(key) + "' was given no value; leave it out when there is none.");
    if (auto ok = set_all(e, **kind, wish.attributes); !ok) return ok.failure();
    if (auto ok = check_times(e, **kind, *r); !ok) return ok.failure();
    auto id = desk.library.next_id(wish.session, "e");
    if (!id) return id.failure();
    e.id = *id;
    auto done = desk.library.commit({wish.session, "tag " + e.kind, desk.person, {store::put(e)}});
    if (!done) return done.failure();
    return tagged(e, **kind, *r);
}

Result<Tagged> edit_event(Desk& desk, const std::string& session, const std::string& id, const EditWish& wish) {
    if (!wish.at && !wish.until && !wish.ear && wish.attributes.empty() && !wish.note && !wish.accept)
        return wrong_use("Nothing was told to change: give a time, a side, an attribute or a note.");
    auto vocabulary = desk.vocabulary_of(session);
    if (!vocabulary) return vocabulary.failure();
    auto found = desk.library.find<Event>(session, id);
    if (!found) return found.failure();
    if (!*found) return wrong_use("There is no event '" + id + "' in this session; 'canalogue events' lists them.");
    Event e = std::move(**found);
    auto kind = vocabulary->named(e.kind);
    if (!kind) return kind.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    if (wish.at) {
        const Recording* moved = recording_at(*recordings, *wish.at);
        if (!moved) return no_picture(*recordings, *wish.at);
        const RecordingTime to = moved->recording_time(*wish.at);
        if (e.until && !wish.until) e.until = to + (*e.until - e.at);
        e.recording = moved->id;
        e.at = to;
    }
    auto r = recording_of(*recordings, e.recording);
    if (!r) return r.failure();
    if (wish.until) e.until = (*r)->recording_time(*wish.until);
    if (wish.ear) e.ear = *wish.ear;
    if (wish.note) {
        auto note = one_line(*wish.note, "The note");
        if (!note) return note.failure();
        e.note = *note;
    }
    if (wish.accept) e.origin = Origin::person;
    e.author = desk.person;
    if (auto ok = set_all(e, **kind, wish.attributes); !ok) return ok.failure();
    if (auto ok = check_times(e, **kind, **r); !ok) return ok.failure();
    auto done = desk.library.commit({session, "change " + e.kind + " " + e.id, desk.person, {store::put(e)}});
    if (!done) return done.failure();
    return tagged(e, **kind, **r);
}

Result<void> delete_event(Desk& desk, const std::string& session, const std::string& id) {
    auto found = desk.library.find<Event>(session, id);
    if (!found) return found.failure();
    if (!*found) return wrong_use("There is no event '" + id + "' in this session; 'canalogue events' lists them.");
    if ((*found)->origin == Origin::suggestion) return dismiss_suggestions(desk, session, {id});
    auto done = desk.library.commit({session, "delete " + (*found)->kind + " " + id, desk.person, {{store::Stored<Event>::kind, id, std::nullopt}}});
    if (!done) return done.failure();
    return {};
}

Result<int> set_side(Desk& desk, const std::string& session, SessionSpan span, std::optional<Ear> ear) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto events = desk.events(session);
    if (!events) return events.failure();
    std::vector<store::Change> changes;
    for (auto& r : *recordings) {
        const RecordingSpan part{std::max(r.recording_time(span.start), r.only.start), std::min(r.recording_time(span.end), r.only.end)};
        if (part.empty()) continue;
        if (ear) {
            r.ears = with_side(r.ears, part, *ear);
        } else {
            for (const auto& e : std::vector<EarSpan>(r.ears)) {
                const RecordingSpan both{std::max(e.span.start, part.start), std::min(e.span.end, part.end)};
                if (!both.empty()) r.ears = with_side(r.ears, both, other(e.ear));
            }
        }
        changes.push_back(store::put(r));
    }
    if (changes.empty()) return wrong_use("No recording of the session lies in that span; nothing was changed.");
    int changed = 0;
    for (auto& e : *events) {
        const auto r = std::find_if(recordings->begin(), recordings->end(), [&](const Recording& x) { return x.id == e.recording; });
        if (r == recordings->end() || !span.holds(r->session_time(e.at))) continue;
        const Ear now = ear.value_or(other(e.ear));
        if (now == e.ear) continue;
        e.ear = now;
        changes.push_back(store::put(e));
        ++changed;
    }
    const std::string verb = ear ? "set side to " + std::string(name_of(*ear)) : "swap side";
    auto done = desk.library.commit({session, verb, desk.person, std::move(changes)});
    if (!done) return done.failure();
    return changed;
}

namespace {

// Undo and redo may uncover, too.
Result<std::string> swung(Desk& desk, const std::string& session, bool back) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto before = desk.library.all<Suspect>(session);
    if (!before) return before.failure();
    auto done = back ? desk.library.undo(session, desk.person) : desk.library.redo(session, desk.person);
    if (!done) return done;
    auto after = desk.library.all<Suspect>(session);
    if (!after) return after.failure();
    Seen uncovered;
    const auto hides = [](const std::vector<Suspect>& in, const Suspect& s) {
        return std::any_of(in.begin(), in.end(), [&](const Suspect& o) { return o.id == s.id && o.decision.verdict != Verdict::harmless; });
    };
    for (const auto& s : *before)
        if (s.decision.verdict != Verdict::harmless && !hides(*after, s)) uncovered[s.recording].push_back(s.span);
    if (auto ok = forget_seen(desk, session, uncovered); !ok) return ok.failure();
    return done;
}

}  // namespace

Result<std::string> undo(Desk& desk, const std::string& session) { return swung(desk, session, true); }
Result<std::string> redo(Desk& desk, const std::string& session) { return swung(desk, session, false); }

Result<void> confirm_record(Desk& desk, const std::string& session) {
    auto s = desk.session(session);
    if (!s) return s.failure();
    if (desk.person.empty()) return wrong_use("A record is confirmed by a named person: add --by NAME.");
    auto rows = desk.library.journal(session);
    if (!rows) return rows.failure();
    const std::time_t now = std::time(nullptr);
    std::tm utc{};
    gmtime_r(&now, &utc);
    char text[32];
    std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc);
    s->confirmed_by = desk.person;
    s->confirmed_at = text;
    s->confirmed_row = rows->empty() ? 0 : rows->back().number;
    auto done = desk.library.commit({session, "confirm the record", desk.person, {store::put(*s)}, false});
    if (!done) return done.failure();
    return {};
}

}  // namespace canalogue::desk
