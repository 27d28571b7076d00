#include "app/cli/commands.hpp"
#include "app/core/event_rules.hpp"
#include "app/desk/tagging.hpp"
#include "export/sidecars.hpp"

namespace canalogue::cli {

namespace {

struct EventArguments {
    std::string session, kind, event, ear, note, format;
    std::vector<std::string> set;
    std::optional<Nanos> at, from, until;
    bool accept = false, swap = false;
};

Result<std::vector<std::pair<std::string, std::string>>> attributes(const std::vector<std::string>& set) {
    std::vector<std::pair<std::string, std::string>> out;
    for (const auto& s : set) {
        const auto equals = s.find('=');
        if (equals == std::string::npos || equals == 0) return wrong_use("'" + s + "' is no attribute: write --set key=value.");
        out.emplace_back(s.substr(0, equals), s.substr(equals + 1));
    }
    return out;
}

nlohmann::ordered_json event_json(const Event& e, const Recording* r, const EventKind* kind) {
    nlohmann::ordered_json j = {{"id", e.id}, {"kind", e.kind}, {"name", kind ? kind->name : e.kind}, {"ear", name_of(e.ear)},
                                {"at", r ? r->session_time(e.at).seconds() : e.at.seconds()}, {"recording", e.recording}, {"recording_at", e.at.seconds()},
                                {"attributes", e.attributes}, {"note", e.note}, {"author", e.author}, {"origin", e.origin == Origin::person ? "person" : "suggestion"}};
    if (e.until) j["until"] = r ? r->session_time(*e.until).seconds() : e.until->seconds();
    return j;
}

int report(Program& p, const desk::Tagged& t) {
    if (p.json) {
        auto j = event_json(t.event, nullptr, nullptr);
        j["at"] = t.at.seconds();
        j["warnings"] = t.warnings;
        say_json(j);
    } else {
        say(t.event.id + "  " + format_time(t.at.ns) + "  " + std::string(name_of(t.event.ear)) + " ear  " + t.words);
    }
    for (const auto& w : t.warnings) warn(w);
    return 0;
}

int tag(Program& p, const EventArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        desk::TagWish wish{a.session, a.kind, {*a.at}, std::nullopt, std::nullopt, {}, a.note};
        if (a.until) wish.until = SessionTime{*a.until};
        if (!a.ear.empty()) {
            auto ear = ear_named(a.ear);
            if (!ear) return complain(ear.failure());
            wish.ear = *ear;
        }
        auto set = attributes(a.set);
        if (!set) return complain(set.failure());
        wish.attributes = std::move(*set);
        auto done = desk::tag(desk, wish);
        if (!done) return complain(done.failure());
        return report(p, *done);
    });
}

int edit(Program& p, const EventArguments& a, bool note_given) {
    return p.with_desk([&](desk::Desk& desk) {
        desk::EditWish wish;
        if (a.at) wish.at = SessionTime{*a.at};
        if (a.until) wish.until = SessionTime{*a.until};
        if (!a.ear.empty()) {
            auto ear = ear_named(a.ear);
            if (!ear) return complain(ear.failure());
            wish.ear = *ear;
        }
        auto set = attributes(a.set);
        if (!set) return complain(set.failure());
        wish.attributes = std::move(*set);
        if (note_given) wish.note = a.note;
        wish.accept = a.accept;
        auto done = desk::edit_event(desk, a.session, a.event, wish);
        if (!done) return complain(done.failure());
        return report(p, *done);
    });
}

int list_events(Program& p, const EventArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        auto vocabulary = desk.vocabulary_of(a.session);
        if (!vocabulary) return complain(vocabulary.failure());
        auto events = desk.events(a.session);
        if (!events) return complain(events.failure());
        auto recordings = desk.recordings(a.session);
        if (!recordings) return complain(recordings.failure());
        const auto recording = [&](const Event& e) {
            for (const auto& r : *recordings)
                if (r.id == e.recording) return &r;
            return static_cast<const Recording*>(nullptr);
        };
        std::vector<film::TimedEvent> timed;
        nlohmann::ordered_json list = nlohmann::ordered_json::array();
        std::string table;
        for (const auto& e : *events) {
            const EventKind* kind = vocabulary->find(e.kind);
            const Recording* r = recording(e);
            if (!kind || !r) continue;
            const Nanos at = r->session_time(e.at).ns;
            if (e.origin == Origin::person) timed.push_back({&e, kind, at, e.until ? r->session_time(*e.until).ns : at + kSecond});
            list.push_back(event_json(e, r, kind));
            char line[96];
            std::snprintf(line, sizeof line, "%-5s %10s  %-5s  ", e.id.c_str(), format_time(at / kMillisecond * kMillisecond).c_str(), std::string(name_of(e.ear)).c_str());
            table += line + described(e, *kind, FreeText::keep) + (e.origin == Origin::suggestion ? "  (suggestion)" : "") + (e.note.empty() ? "" : "  - " + e.note) + "\n";
        }
        if (a.format == "jsonld") say(film::events_jsonld(timed, *vocabulary, "urn:canalogue:session", "en-GB"));
        else if (a.format == "vtt") say(film::events_vtt(timed));
        else if (a.format == "csv") say(film::events_csv(timed));
        else if (p.json || a.format == "json") say_json(list);
        else say(table.empty() ? "No event has been tagged yet: 'canalogue tag " + a.session + " KIND --at TIME'." : table);
        return 0;
    });
}

int set_side(Program& p, const EventArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        std::optional<Ear> ear;
        if (!a.ear.empty()) {
            auto named = ear_named(a.ear);
            if (!named) return complain(named.failure());
            ear = *named;
        }
        if (a.swap == ear.has_value()) return complain(wrong_use("Say what the side is with --ear right or --ear left, or exchange the sides with --swap."));
        const SessionSpan span{{a.from.value_or(0)}, {a.until.value_or(INT64_MAX / 4)}};
        auto changed = desk::set_side(desk, a.session, span, ear);
        if (!changed) return complain(changed.failure());
        say("Done; " + std::to_string(*changed) + (*changed == 1 ? " event changed its side." : " events changed their side.") + " 'canalogue undo " + a.session + "' takes it back.");
        return 0;
    });
}

void add_swing(Program& p, EventArguments* a, const char* name, const char* about, bool back) {
    auto* command = p.add(name, about, std::string("canalogue ") + name + " s1");
    command->add_option("SESSION", a->session)->required();
    command->callback([&p, a, back] {
        p.run = [&p, a, back] {
            return p.with_desk([&](desk::Desk& desk) {
                auto done = back ? desk::undo(desk, a->session) : desk::redo(desk, a->session);
                if (!done) return complain(done.failure());
                say((back ? "Undone: " : "Done again: ") + *done);
                return 0;
            });
        };
    });
}

}  // namespace

void add_event_commands(Program& p) {
    auto* a = p.keep<EventArguments>();
    auto* tag_command = p.add("tag", "Place an event", "canalogue tag s1 drum-visible --at 1:02.25 --set view=all --set clock=5");
    tag_command->add_option("SESSION", a->session)->required();
    tag_command->add_option("KIND", a->kind, "See 'canalogue vocab'")->required();
    add_time(tag_command, "--at", a->at, "Session time")->required();
    add_time(tag_command, "--until", a->until, "End, for kinds that have a length");
    tag_command->add_option("--ear", a->ear, "right or left (otherwise what the recording shows)")->type_name("EAR");
    tag_command->add_option("--set", a->set, "An attribute")->type_name("KEY=VALUE");
    tag_command->add_option("--note", a->note, "Free text; stays in the library")->type_name("TEXT");
    tag_command->add_flag("--json", p.json, "For programs");
    tag_command->callback([&p, a] { p.run = [&p, a] { return tag(p, *a); }; });

    auto* list = p.add("events", "List the events, or print them in an open format", "canalogue events s1 --format jsonld");
    list->add_option("SESSION", a->session)->required();
    list->add_option("--format", a->format, "table, json, jsonld, vtt or csv")->check(CLI::IsMember({"table", "json", "jsonld", "vtt", "csv"}));
    list->add_flag("--json", p.json, "For programs");
    list->callback([&p, a] { p.run = [&p, a] { return list_events(p, *a); }; });

    auto* change = p.add("change", "Change an event, or accept a suggestion", "canalogue change s1 e3 --at 0:41 --set size=4");
    change->add_option("SESSION", a->session)->required();
    change->add_option("EVENT", a->event)->required();
    add_time(change, "--at", a->at, "Session time");
    add_time(change, "--until", a->until, "End");
    change->add_option("--ear", a->ear)->type_name("EAR");
    change->add_option("--set", a->set, "An attribute; an empty value takes it away")->type_name("KEY=VALUE");
    auto* note = change->add_option("--note", a->note)->type_name("TEXT");
    change->add_flag("--accept", a->accept, "A suggestion becomes an event");
    change->add_flag("--json", p.json, "For programs");
    change->callback([&p, a, note] { p.run = [&p, a, note] { return edit(p, *a, note->count() > 0); }; });

    auto* remove = p.add("delete", "Delete an event", "canalogue delete s1 e3");
    remove->add_option("SESSION", a->session)->required();
    remove->add_option("EVENT", a->event)->required();
    remove->callback([&p, a] {
        p.run = [&p, a] {
            return p.with_desk([&](desk::Desk& desk) {
                auto done = desk::delete_event(desk, a->session, a->event);
                if (!done) return complain(done.failure());
                say("Deleted " + a->event + ". 'canalogue undo " + a->session + "' brings it back.");
                return 0;
            });
        };
    });

    auto* side = p.add("side", "Say, or exchange, which ear a span shows; its events follow", "canalogue side s1 --from 0 --until 2:30 --swap");
    side->add_option("SESSION", a->session)->required();
    add_time(side, "--from", a->from, "Session time (otherwise the beginning)");
    add_time(side, "--until", a->until, "Session time (otherwise the end)");
    side->add_option("--ear", a->ear)->type_name("EAR");
    side->add_flag("--swap", a->swap, "Right becomes left and left right");
    side->callback([&p, a] { p.run = [&p, a] { return set_side(p, *a); }; });

    add_swing(p, a, "undo", "Take back the session's last change", true);
    add_swing(p, a, "redo", "Do again what was taken back", false);
}

}  // namespace canalogue::cli
