#include <fstream>

#include "app/cli/commands.hpp"
#include "app/desk/browsing.hpp"
#include "app/desk/importing.hpp"
#include "app/desk/showing.hpp"
#include "app/desk/tagging.hpp"

namespace canalogue::cli {

namespace {

struct ImportArguments {
    desk::ImportWish wish;
    std::vector<std::string> files;
    std::string ear, move, find;
    std::optional<Nanos> at, from, until;
    bool finish = false;
};

nlohmann::ordered_json facts_json(const Recording& r, const media::RecordingFacts& f) {
    return {{"recording", r.id}, {"session_start", r.offset.seconds()}, {"width", f.upright().w}, {"height", f.upright().h}, {"codec", f.codec},
            {"frames_per_second", f.frames_per_second}, {"seconds", static_cast<double>(f.duration) / kSecond}, {"interlaced", f.interlaced}, {"sound", f.sound.has_value()}};
}

void show_facts(const desk::Imported& i) {
    const auto& f = i.facts;
    char line[256];
    std::snprintf(line, sizeof line, "%s: %dx%d %s, %.4g frames/s, %s, %s, from %s of the session", i.recording.id.c_str(), f.upright().w, f.upright().h,
                  f.codec.c_str(), f.frames_per_second, format_clock(f.duration).c_str(), f.sound ? "with sound" : "no sound", format_time(i.recording.session_span().start.ns).c_str());
    say(line);
    std::fflush(stdout);
}

int finish_import(desk::Desk& desk, const ImportArguments& a) {
    TerminalProgress progress;
    auto done = desk::finish_provisional(desk, a.wish.session, progress.progress());
    if (!done) return complain(done.failure());
    say(std::to_string(*done) + (*done == 1 ? " recording finished." : " recordings finished."));
    return 0;
}

int move_or_find(desk::Desk& desk, const ImportArguments& a) {
    TerminalProgress progress;
    Result<void> done;
    if (!a.find.empty()) done = desk::find_again(desk, a.wish.session, a.find, progress.progress());
    else if (!a.at) return complain(wrong_use("Where to? Add --at TIME, the session time of the recording's beginning."));
    else done = desk::move_recording(desk, a.wish.session, a.move, {*a.at});
    if (!done) return complain(done.failure());
    say(a.find.empty() ? a.move + " now begins at " + format_time(*a.at) + " of the session." : "The recording was found again.");
    return 0;
}

int import(Program& p, const ImportArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        if (a.finish) return finish_import(desk, a);
        if (!a.move.empty() || !a.find.empty()) return move_or_find(desk, a);
        desk::ImportWish wish = a.wish;
        if (a.files.empty()) return complain(wrong_use("Which files? Name the recordings to import."));
        for (const auto& f : a.files) wish.files.emplace_back(f);
        if (!a.ear.empty()) {
            auto ear = ear_named(a.ear);
            if (!ear) return complain(ear.failure());
            wish.ear = *ear;
        }
        if (a.at) wish.at = SessionTime{*a.at};
        if (a.from) wish.from = RecordingTime{*a.from};
        if (a.until) wish.until = RecordingTime{*a.until};
        TerminalProgress progress;
        const auto shown = [&](const desk::Imported& i) {
            if (!p.json) show_facts(i);
        };
        auto done = desk::import_recordings(desk, wish, shown, progress.progress());
        if (!done) return complain(done.failure());
        nlohmann::ordered_json out = nlohmann::ordered_json::array();
        for (const auto& i : *done) {
            auto j = facts_json(i.recording, i.facts);
            j["sha256"] = i.recording.hash;
            j["seconds"] = i.recording.only.end.seconds();
            j["lost_seconds"] = static_cast<double>(i.recording.lost) / kSecond;
            j["already_in"] = i.seen_before ? nlohmann::ordered_json(*i.seen_before) : nlohmann::ordered_json();
            out.push_back(j);
            if (i.recording.lost > 0) warn(format_time(i.recording.lost / kMillisecond * kMillisecond) + " of " + i.recording.id + " could not be read; it is used up to its last good picture.");
            if (i.seen_before) warn("The content of " + i.recording.id + " is in session '" + *i.seen_before + "' already" + (*i.seen_before == wish.session ? "; it was not added again." : "."));
            for (const auto& note : i.notes) warn(note);
            if (i.recording.ears.empty()) warn("Nothing says which ear " + i.recording.id + " shows: 'canalogue side' tells it.");
        }
        if (p.json) say_json(out);
        return 0;
    });
}

int list_sessions(Program& p, desk::Desk& desk) {
    auto sessions = desk.library.sessions();
    if (!sessions) return complain(sessions.failure());
    if (p.json) say_json(*sessions);
    else if (sessions->empty()) say("This library has no session yet. 'canalogue import --session NAME --ear right FILE' makes one.");
    else
        for (const auto& s : *sessions) say(s);
    return 0;
}

int show_json(desk::Desk& desk, const std::string& id) {
    auto session = desk.session(id);
    auto recordings = desk.recordings(id);
    auto text = desk::record_text(desk, id);
    if (!session) return complain(session.failure());
    if (!recordings) return complain(recordings.failure());
    if (!text) return complain(text.failure());
    nlohmann::ordered_json list = nlohmann::ordered_json::array();
    for (const auto& r : *recordings) {
        nlohmann::ordered_json ears = nlohmann::ordered_json::array();
        for (const auto& e : r.ears) ears.push_back({{"from", e.span.start.seconds()}, {"until", e.span.end.seconds()}, {"ear", name_of(e.ear)}});
        list.push_back({{"recording", r.id}, {"sha256", r.hash}, {"session_start", r.offset.seconds()}, {"from", r.only.start.seconds()}, {"until", r.only.end.seconds()}, {"ears", ears},
                        {"lost_seconds", static_cast<double>(r.lost) / kSecond}});
    }
    say_json({{"session", id}, {"vocabulary", session->vocabulary}, {"confirmed_by", session->confirmed_by}, {"confirmed_at", session->confirmed_at}, {"recordings", list}, {"record", *text}});
    return 0;
}

struct FindArguments {
    std::string text, kind, ear;
};

int find(Program& p, const FindArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        desk::Search search{a.text, a.kind, {}};
        if (!a.ear.empty()) {
            auto ear = ear_named(a.ear);
            if (!ear) return complain(ear.failure());
            search.ear = *ear;
        }
        auto cards = desk::session_cards(desk);
        if (!cards) return complain(cards.failure());
        nlohmann::ordered_json list = nlohmann::ordered_json::array();
        for (const auto& c : *cards) {
            if (!desk::answers(c, search)) continue;
            list.push_back({{"session", c.id}, {"seconds", static_cast<double>(c.length) / kSecond}, {"events", c.events}, {"open_suspects", c.open_suspects}, {"confirmed", c.confirmed}, {"films", c.exports.size()}, {"words", c.words}});
            if (p.json) continue;
            say(c.id + "  " + format_clock(c.length) + ", " + std::to_string(c.events) + " events, " + std::to_string(c.open_suspects) + " to decide" + (c.confirmed ? "" : ", draft"));
            if (!c.words.empty()) say("    " + c.words.front());
        }
        if (p.json) say_json(list);
        else if (list.empty()) say("No session answers that.");
        return 0;
    });
}

void add_find_command(Program& p) {
    auto* a = p.keep<FindArguments>();
    auto* command = p.add("find", "Find sessions by what was recorded in them", "canalogue find \"hard wax\" --ear left --kind referral");
    command->add_option("TEXT", a->text, "Every word of it must be found");
    command->add_option("--ear", a->ear, "That show this ear")->type_name("EAR");
    command->add_option("--kind", a->kind, "With an event of this kind ('canalogue vocab' lists them)")->type_name("KIND");
    command->add_flag("--json", p.json, "For programs");
    command->callback([&p, a] { p.run = [&p, a] { return find(p, *a); }; });
}

}  // namespace

void add_session_commands(Program& p) {
    add_find_command(p);
    auto* a = p.keep<ImportArguments>();
    auto* import_command = p.add("import", "Bring recordings into a session (the files are only read)", "canalogue import --session s1 --ear right first.mp4 second.mp4");
    import_command->add_option("--session", a->wish.session, "The session's name; do not use the patient's")->required()->type_name("NAME");
    import_command->add_option("FILE", a->files, "Media files, in the order of the visit");
    import_command->add_option("--ear", a->ear, "Which ear they show: right or left")->type_name("EAR");
    add_time(import_command, "--at", a->at, "Session time at which the first begins (gaps and overlaps are kept)");
    import_command->add_flag("--by-time-stamps", a->wish.by_time_stamps, "Order and place them by the files' own time stamps");
    add_time(import_command, "--from", a->from, "Only from this time of the file (a file that holds two patients)");
    add_time(import_command, "--until", a->until, "Only until this time of the file");
    import_command->add_flag("--adopt", a->wish.adopt, "Copy the files into the library");
    import_command->add_option("--vocabulary", a->wish.vocabulary, "Kinds of event for a new session")->type_name("ID");
    import_command->add_flag("--finish", a->finish, "Finish recordings whose import was interrupted");
    import_command->add_option("--move", a->move, "Move this recording to --at instead of importing")->type_name("RECORDING");
    import_command->add_option("--find", a->find, "Tell where a recording lies now (recognised by its content)")->type_name("FILE");
    import_command->add_flag("--json", p.json, "For programs");
    import_command->callback([&p, a] { p.run = [&p, a] { return import(p, *a); }; });

    auto* session = p.keep<std::string>();
    auto* show = p.add("show", "Print a session's record for the notes, or list the sessions", "canalogue show s1");
    show->add_option("SESSION", *session);
    show->add_flag("--json", p.json, "For programs");
    show->callback([&p, session] {
        p.run = [&p, session] {
            return p.with_desk([&](desk::Desk& desk) {
                if (session->empty()) return list_sessions(p, desk);
                if (p.json) return show_json(desk, *session);
                auto text = desk::record_text(desk, *session);
                if (!text) return complain(text.failure());
                say(*text);
                return 0;
            });
        };
    });

    auto* confirm = p.add("confirm", "Confirm a session's record by name; later changes stay visible", "canalogue confirm s1 --by \"N. Example\"");
    confirm->add_option("SESSION", *session)->required();
    confirm->callback([&p, session] {
        p.run = [&p, session] {
            return p.with_desk([&](desk::Desk& desk) {
                auto done = desk::confirm_record(desk, *session);
                if (!done) return complain(done.failure());
                say("Confirmed by " + desk.person + ".");
                return 0;
            });
        };
    });
}

}  // namespace canalogue::cli
