#include <filesystem>
#include <fstream>

#include "app/cli/commands.hpp"
#include "app/desk/adjusting.hpp"
#include "app/desk/checking.hpp"
#include "app/desk/covering.hpp"
#include "app/desk/deciding.hpp"
#include "app/desk/following.hpp"
#include "app/desk/hearing.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/recalibrating.hpp"
#include "app/desk/scanning.hpp"
#include "app/desk/watching.hpp"

namespace canalogue::cli {

namespace {

struct PrivacyArguments {
    std::string session, reason, box, place, page, passphrase_file;
    std::vector<std::string> ids, identifiers, inside, outside;
    std::string forget;
    bool cover = false, harmless = false, although_named = false, whole = false, sound = false, words = false;
    std::optional<Nanos> from, until, split, follow, follow_back, at;
    int widen = 0;
};

int scan(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        TerminalProgress progress;
        auto secret = passphrase(a.passphrase_file, false);
        if (!secret) return complain(secret.failure());
        auto done = desk::scan(desk, a.session, progress.progress());
        if (!done) return complain(done.failure());
        auto heard = secret->empty() ? desk::HearReport{} : desk::hear_names(desk, a.session, *secret, progress.progress());
        if (!heard) return complain(heard.failure());
        if (p.json) say_json({{"found", done->found}, {"scanned_seconds", static_cast<double>(done->scanned) / kSecond}, {"listened_for_names", heard->listened}, {"named", heard->named}, {"troubles", done->troubles}});
        else say(std::to_string(done->found) + (done->found == 1 ? " new suspect" : " new suspects") + "; looked for burnt-in text, the scope outside the ear, faces and people, speech, and what the file says about itself. 'canalogue plugins --json' tells what each spotter does not look for.");
        if (!p.json && heard->listened > 0) say("Names of the known list were listened for in " + std::to_string(heard->listened) + " stretches of speech: " + (heard->named ? "in " + std::to_string(heard->named) + " of them something was heard; 'canalogue suspects --words' tells what." : "none was heard, which does not mean that none was said."));
        if (!p.json && secret->empty()) say("Names that are said were not listened for: that needs the passphrase of the known list.");
        for (const auto& t : done->troubles) warn(t + " What was not scanned stays covered.");
        return 0;
    });
}

nlohmann::ordered_json suspect_json(const desk::SuspectLine& line) {
    const Suspect& s = line.suspect;
    nlohmann::ordered_json track = nlohmann::ordered_json::array();
    for (const auto& point : s.track) track.push_back({{"t", point.t.seconds()}, {"x", point.box.x}, {"y", point.box.y}, {"w", point.box.w}, {"h", point.box.h}});
    nlohmann::ordered_json j = {{"id", s.id}, {"kind", name_of(s.kind)}, {"recording", s.recording}, {"start", s.span.start.seconds()}, {"end", s.span.end.seconds()},
                                {"track", track}, {"sureness", s.sureness}, {"spotter", s.spotter}, {"decision", name_of(s.decision.verdict)}, {"under_a_cover", line.hidden}};
    if (!s.field.empty()) j["field"] = s.field;
    if (!s.decision.reason.empty()) j["reason"] = s.decision.reason;
    if (!s.decision.by.empty()) j["by"] = s.decision.by;
    if (!line.words.empty()) j["words"] = line.words;
    return j;
}

std::string suspect_line(const desk::SuspectLine& line) {
    const Suspect& s = line.suspect;
    std::string where = s.hides_sound() ? "sound" : s.kind == SuspectKind::metadata ? s.field : s.field.empty() ? "whole picture" : s.field;
    if (s.spotter == kSpottedInFilm && where.size() < 20) where += " (check)";
    if (!s.track.empty()) {
        const auto& b = s.track[0].box;
        where = std::to_string(b.w) + "x" + std::to_string(b.h) + " at " + std::to_string(b.x) + "," + std::to_string(b.y);
    }
    if (!line.unscanned_by.empty()) where = "not scanned by " + line.unscanned_by;
    char text[256];
    std::snprintf(text, sizeof text, "%-5s %-9s %-3s %9s - %-9s %-28s %3.0f %%  %s", s.id.c_str(), line.unscanned_by.empty() ? std::string(name_of(s.kind)).c_str() : "unscanned", s.recording.c_str(),
                  format_time(s.span.start.ns / kMillisecond * kMillisecond).c_str(), format_time(s.span.end.ns / kMillisecond * kMillisecond).c_str(), where.c_str(), s.sureness * 100,
                  line.hidden ? desk::state_of(line) : std::string(name_of(s.decision.verdict)).c_str());
    return text + (line.words.empty() ? "" : "  \"" + desk::in_short(line.words, line.words.size()) + "\"");
}

int list_suspects(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        std::string secret;
        if (a.words) {
            auto given = passphrase(a.passphrase_file, true);
            if (!given) return complain(given.failure());
            secret = *given;
        }
        auto lines = desk::suspects(desk, a.session, secret);
        if (!lines) return complain(lines.failure());
        if (p.json) {
            nlohmann::ordered_json list = nlohmann::ordered_json::array();
            for (const auto& line : *lines) list.push_back(suspect_json(line));
            say_json(list);
            return 0;
        }
        int open = 0;
        for (const auto& line : *lines) {
            say(suspect_line(line));
            open += desk::asks_for_a_decision(line);
        }
        if (lines->empty()) say("Nothing is suspected" + std::string(" yet: 'canalogue scan ") + a.session + "' looks for burnt-in text and file fields.");
        else say(std::to_string(lines->size()) + " in all, " + std::to_string(open) + " open. Whatever is not judged harmless is covered for learners and the public.");
        say("Detectors miss things: watch the recording yourself.");
        return 0;
    });
}

int decide(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        if (a.cover == a.harmless) return complain(wrong_use("Decide one thing: --cover or --harmless."));
        auto secret = passphrase(a.passphrase_file, false);
        if (!secret) return complain(secret.failure());
        auto done = desk::decide(desk, {a.session, a.ids, a.cover ? Verdict::cover : Verdict::harmless, a.reason, *secret, a.although_named});
        if (!done) return complain(done.failure());
        say(std::to_string(*done) + " decided as " + (a.cover ? "covered." : "harmless."));
        if (*done == 0) say("What was not scanned is decided by its own id, and what is decided already is left as it is: 'canalogue suspects' lists them.");
        return 0;
    });
}

Result<UprightBox> box_from(const std::string& text) {
    UprightBox b;
    char rest = 0;
    if (std::sscanf(text.c_str(), "%d,%d,%d,%d%c", &b.x, &b.y, &b.w, &b.h, &rest) != 4 || b.w <= 0 || b.h <= 0 || b.x < 0 || b.y < 0)
        return wrong_use("'" + text + "' is no box: write --box X,Y,W,H in pixels of the upright picture.");
    return b;
}

int cover(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        if ((!a.box.empty()) + a.whole + a.sound != 1) return complain(wrong_use("Cover one thing: --box X,Y,W,H, --whole or --sound."));
        desk::CoverWish wish;
        wish.session = a.session;
        wish.span = {{*a.from}, {*a.until}};
        wish.reason = a.reason;
        wish.what = a.whole ? desk::CoverWish::What::whole : a.sound ? desk::CoverWish::What::sound : desk::CoverWish::What::box;
        if (!a.box.empty()) {
            auto box = box_from(a.box);
            if (!box) return complain(box.failure());
            wish.box = *box;
        }
        auto done = desk::cover(desk, wish);
        if (!done) return complain(done.failure());
        for (const auto& s : *done) say(s.id + " covered: " + s.recording + " from " + format_time(s.span.start.ns) + " to " + format_time(s.span.end.ns) + ".");
        return 0;
    });
}

// One change at a time, so that each can be undone by itself.
int adjust(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        const bool span = a.from || a.until;
        if ((a.widen != 0) + a.split.has_value() + a.follow.has_value() + a.follow_back.has_value() + !a.box.empty() + span != 1)
            return complain(wrong_use("Change one thing: --widen PIXELS, --split TIME, --follow TIME, --follow-back TIME, --box with --at, or --from and --until."));
        if (a.box.empty() == a.at.has_value()) return complain(wrong_use("A box is put right at a time: give --box X,Y,W,H and --at TIME."));
        const std::string& id = a.ids.front();
        if (a.follow || a.follow_back || a.at) {
            TerminalProgress progress;
            const auto box = a.at ? box_from(a.box) : Result<UprightBox>(UprightBox{});
            if (!box) return complain(box.failure());
            auto done = a.at       ? desk::place_box(desk, a.session, id, {*a.at}, *box, progress.progress())
                        : a.follow ? desk::follow_suspect(desk, a.session, id, {*a.follow}, progress.progress())
                                   : desk::follow_suspect_back(desk, a.session, id, {*a.follow_back}, progress.progress());
            if (!done) return complain(done.failure());
            say(*done);
            return 0;
        }
        if (a.split) {
            auto done = desk::split(desk, a.session, id, {*a.split});
            if (!done) return complain(done.failure());
            say(id + " ends there; " + *done + " begins.");
            return 0;
        }
        Result<void> done;
        if (a.widen != 0) done = desk::widen(desk, a.session, id, a.widen);
        else if (!a.from || !a.until) done = wrong_use("A span has both ends: give --from and --until.");
        else done = desk::set_span(desk, a.session, id, {{*a.from}, {*a.until}});
        if (!done) return complain(done.failure());
        say(id + " changed.");
        return 0;
    });
}

int seen(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        if (auto s = desk.session(a.session); !s) return complain(s.failure());
        auto gaps = desk::unseen(desk, a.session);
        if (!gaps) return complain(gaps.failure());
        nlohmann::ordered_json list = nlohmann::ordered_json::array();
        for (const auto& [recording, spans] : *gaps)
            for (const auto& s : spans) {
                list.push_back({{"recording", recording}, {"start", s.start.seconds()}, {"end", s.end.seconds()}});
                if (!p.json) say(recording + "  " + format_time(s.start.ns / kMillisecond * kMillisecond) + " to " + format_time(s.end.ns / kMillisecond * kMillisecond) + " was not watched");
            }
        if (p.json) say_json(list);
        else if (list.empty()) say("All of it was watched in the public look.");
        return 0;
    });
}

int known(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        if (a.identifiers.empty()) {
            auto count = desk::count_known(desk, a.session);
            if (!count) return complain(count.failure());
            say(std::to_string(*count) + (*count == 1 ? " identifier is" : " identifiers are") + " sealed for this session.");
            return 0;
        }
        auto secret = passphrase(a.passphrase_file, true);
        if (!secret) return complain(secret.failure());
        auto added = desk::add_known(desk, a.session, a.identifiers, *secret);
        if (!added) return complain(added.failure());
        say(std::to_string(*added) + " sealed. Without the passphrase they cannot be read again.");
        return 0;
    });
}

Result<void> keep_page(const std::string& path, const std::string& page) {
    std::ofstream out(path, std::ios::binary);
    out << page;
    out.close();
    if (!out) return machine_trouble("The page could not be written to " + path + "; choose another place or make room there.");
    return {};
}

int check(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        auto secret = passphrase(a.passphrase_file, false);
        if (!secret) return complain(secret.failure());
        TerminalProgress progress;
        auto report = desk::check(desk, a.place, a.session, *secret, progress.progress());
        if (!report) return complain(report.failure());
        if (!a.page.empty()) {
            if (auto ok = keep_page(a.page, film::report_page(*report, std::filesystem::path(a.place).filename().string())); !ok) return complain(ok.failure());
        }
        if (p.json) say_json(nlohmann::ordered_json::parse(film::report_json(*report)));
        else say(film::report_table(*report));
        return report->passed() ? 0 : static_cast<int>(Trouble::refused);
    });
}

// "0:10-0:14" of the session.
Result<std::vector<SessionSpan>> spans_from(const std::vector<std::string>& texts) {
    std::vector<SessionSpan> out;
    for (const auto& text : texts) {
        const auto dash = text.find('-');
        const auto from = parse_time(text.substr(0, dash)), until = parse_time(dash == std::string::npos ? "" : text.substr(dash + 1));
        if (!from || !until || *until <= *from) return wrong_use("'" + text + "' is no span: write FROM-UNTIL in session time, such as 0:10-0:14.");
        out.push_back({{*from}, {*until}});
    }
    return out;
}

int recalibrate(Program& p, const PrivacyArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        auto inside = spans_from(a.inside), outside = spans_from(a.outside);
        if (!inside) return complain(inside.failure());
        if (!outside) return complain(outside.failure());
        const bool forget = !a.forget.empty();
        if (forget == !(inside->empty() && outside->empty())) return complain(wrong_use("Give --inside FROM-UNTIL and --outside FROM-UNTIL, each twice or more; or --forget RECORDING."));
        TerminalProgress progress;
        auto done = desk::recalibrate(desk, {a.session, *inside, *outside, a.forget}, progress.progress());
        if (!done) return complain(done.failure());
        char line[160];
        std::snprintf(line, sizeof line, "In %s what you marked as inside reads %.2f, what you marked as outside %.2f (0 outside, 1 inside). ", done->recording.c_str(), done->reads.inside, done->reads.outside);
        say((forget ? "The marks of " + done->recording + " are forgotten. " : std::string(line)) + std::to_string(done->withdrawn) + " undecided suspects were withdrawn; 'canalogue scan " + a.session + "' looks again, until then all of it is covered.");
        return 0;
    });
}

void add_recalibrate(Program& p, PrivacyArguments* a) {
    auto* command = p.add("recalibrate", "Set right what passes for the inside of an ear, by spans that you mark", "canalogue recalibrate s1 --inside 0:10-0:14 --inside 1:00-1:04 --outside 0:02-0:05 --outside 0:40-0:43");
    command->add_option("SESSION", a->session)->required();
    command->add_option("--inside", a->inside, "The scope is in an ear there; twice or more, session time")->type_name("FROM-UNTIL");
    command->add_option("--outside", a->outside, "It is not; twice or more")->type_name("FROM-UNTIL");
    command->add_option("--forget", a->forget, "Take the marks of this recording away")->type_name("RECORDING");
    command->callback([&p, a] { p.run = [&p, a] { return recalibrate(p, *a); }; });
}

}  // namespace

void add_privacy_commands(Program& p) {
    auto* a = p.keep<PrivacyArguments>();
    add_recalibrate(p, a);
    auto* scan_command = p.add("scan", "Let the spotters look for what may identify (goes on where it stopped)", "canalogue scan s1");
    scan_command->add_option("SESSION", a->session)->required();
    scan_command->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE; listens for what is sealed where somebody speaks")->type_name("FILE");
    scan_command->add_flag("--json", p.json, "For programs");
    scan_command->callback([&p, a] { p.run = [&p, a] { return scan(p, *a); }; });

    auto* list = p.add("suspects", "List suspects and spans nobody has looked at", "canalogue suspects s1 --json");
    list->add_option("SESSION", a->session)->required();
    list->add_flag("--words", a->words, "Show what was read there too (asks for the passphrase; identifies people)");
    list->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE, or asked for")->type_name("FILE");
    list->add_flag("--json", p.json, "For programs");
    list->callback([&p, a] { p.run = [&p, a] { return list_suspects(p, *a); }; });

    auto* decide_command = p.add("decide", "Decide suspects; only a recorded decision uncovers", "canalogue decide s1 ID ID --harmless --reason \"tool scale, no name\"");
    decide_command->add_option("SESSION", a->session)->required();
    decide_command->add_option("ID", a->ids, "Ids from 'canalogue suspects', ranges such as x3..x9, or all (of these two: the open ones)")->required();
    decide_command->add_flag("--cover", a->cover, "It stays covered for learners and the public");
    decide_command->add_flag("--harmless", a->harmless, "It tells nobody who it is: uncovers it; needs --reason and a name");
    decide_command->add_flag("--although-named", a->although_named, "Uncovers even what was read as a known identifier");
    decide_command->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE; compares what was read with what is sealed")->type_name("FILE");
    decide_command->add_option("--reason", a->reason, "Recorded with the decision")->type_name("TEXT");
    decide_command->callback([&p, a] { p.run = [&p, a] { return decide(p, *a); }; });

    auto* cover_command = p.add("cover", "Cover by hand: decided at once", "canalogue cover s1 --box 40,40,400,64 --from 0.5 --until 7.5");
    cover_command->add_option("SESSION", a->session)->required();
    cover_command->add_option("--box", a->box, "In pixels of the upright picture")->type_name("X,Y,W,H");
    cover_command->add_flag("--whole", a->whole, "The whole picture");
    cover_command->add_flag("--sound", a->sound, "The sound");
    add_time(cover_command, "--from", a->from, "Session time")->required();
    add_time(cover_command, "--until", a->until, "Session time")->required();
    cover_command->add_option("--reason", a->reason, "Recorded with the cover")->type_name("TEXT");
    cover_command->callback([&p, a] { p.run = [&p, a] { return cover(p, *a); }; });

    auto* adjust_command = p.add("adjust", "Change a suspect: widen its box, split it, follow it, give it another span", "canalogue adjust s1 x3 --follow 0:04.2");
    adjust_command->add_option("SESSION", a->session)->required();
    adjust_command->add_option("ID", a->ids, "One id from 'canalogue suspects'")->required()->expected(1);
    adjust_command->add_option("--widen", a->widen, "Grow the box by so many pixels on each side")->type_name("PIXELS");
    add_time(adjust_command, "--split", a->split, "Two suspects, the second from this time of the recording");
    add_time(adjust_command, "--follow", a->follow, "Follow the box through the shot from this time of the recording");
    add_time(adjust_command, "--follow-back", a->follow_back, "Follow it back from this time to where it came into view");
    adjust_command->add_option("--box", a->box, "Put a box made by hand right, in pixels of the upright picture; needs --at")->type_name("X,Y,W,H");
    add_time(adjust_command, "--at", a->at, "From this time of the recording on the box is there");
    add_time(adjust_command, "--from", a->from, "Another span, in the recording's time");
    add_time(adjust_command, "--until", a->until, "Its end");
    adjust_command->callback([&p, a] { p.run = [&p, a] { return adjust(p, *a); }; });

    auto* seen_command = p.add("seen", "What nobody has watched yet in the public look", "canalogue seen s1");
    seen_command->add_option("SESSION", a->session)->required();
    seen_command->add_flag("--json", p.json, "For programs");
    seen_command->callback([&p, a] { p.run = [&p, a] { return seen(p, *a); }; });

    auto* known_command = p.add("known", "Seal names, birth dates and numbers of a session, or count them", "canalogue known s1 \"Brackwater\" \"TEST 0048213\"");
    known_command->add_option("SESSION", a->session)->required();
    known_command->add_option("IDENTIFIER", a->identifiers);
    known_command->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE, or asked for")->type_name("FILE");
    known_command->callback([&p, a] { p.run = [&p, a] { return known(p, *a); }; });

    auto* check_command = p.add("check", "Examine a finished film or export as a stranger would", "canalogue check out/clip.mp4 --session s1");
    check_command->add_option("FILE", a->place, "A film, or an export folder")->required();
    check_command->add_option("--session", a->session, "Compare with the identifiers sealed for it")->type_name("NAME");
    check_command->add_option("--page", a->page, "Write the report as one page to print and sign, too")->type_name("FILE.html");
    check_command->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE")->type_name("FILE");
    check_command->add_flag("--json", p.json, "For programs");
    check_command->callback([&p, a] { p.run = [&p, a] { return check(p, *a); }; });
}

}  // namespace canalogue::cli
