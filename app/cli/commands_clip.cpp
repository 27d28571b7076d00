#include <algorithm>
#include <cmath>
#include <fstream>

#include "app/cli/commands.hpp"
#include "app/core/assessment.hpp"
#include "app/core/make_up.hpp"
#include "app/desk/drafting.hpp"
#include "app/desk/following.hpp"
#include "app/desk/hearing.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/making_up.hpp"
#include "app/desk/planning.hpp"
#include "app/desk/rendering.hpp"
#include "app/desk/takes.hpp"
#include "export/folder.hpp"

namespace canalogue::cli {

namespace {

struct ClipArguments {
    std::string session, plan, out, length, audience = "learners", reason, passphrase_file;
    std::string target, size, format, make_up, keep_make_up;
    std::vector<std::string> captions_also;
    double megabytes = 0;
    bool draft = false, follow = false, names_unchecked = false, replace = false, keep = false;
};

Result<Plan> read_plan(const std::string& file) {
    std::ifstream in(file, std::ios::binary);
    if (!in) return wrong_use("The plan '" + file + "' cannot be read; 'canalogue plan SESSION --draft -o plan.json' makes one.");
    return plan_from_json(std::string((std::istreambuf_iterator<char>(in)), {}));
}

int print_kept(desk::Desk& desk, const ClipArguments& a) {
    auto kept = desk::kept_plan(desk, a.session);
    if (!kept) return complain(kept.failure());
    if (!*kept) return complain(wrong_use("No plan is kept with the session: --draft proposes one, --check FILE looks one over, and --keep keeps it."));
    if (a.out.empty()) return say(plan_to_json(**kept)), 0;
    auto earlier = film::replace_text(a.out, plan_to_json(**kept));
    if (!earlier) return complain(earlier.failure());
    say("The kept plan is in " + a.out + "." + (earlier->empty() ? "" : " What was there before is now " + earlier->string() + "."));
    return 0;
}

// The plan that was named, else the one that is kept with the session.
Result<Plan> plan_for(const desk::Desk& desk, const ClipArguments& a) {
    if (!a.plan.empty()) return read_plan(a.plan);
    auto kept = desk::kept_plan(desk, a.session);
    if (!kept) return kept.failure();
    if (!*kept) return wrong_use("No plan is kept with the session: name one with --plan; 'canalogue plan SESSION --draft -o plan.json' makes one.");
    return **kept;
}

// With the passphrase against the names that are sealed, without it against the forms of numbers alone.
Result<void> look_over_words(desk::Desk& desk, const ClipArguments& a, const Plan& plan) {
    auto secret = passphrase(a.passphrase_file, false);
    if (!secret) return secret.failure();
    std::vector<std::string> known;
    if (!secret->empty()) {
        auto opened = desk::open_known(desk, a.session, *secret);
        if (!opened) return opened.failure();
        known = std::move(*opened);
    } else if (auto sealed = desk::count_known(desk, a.session); sealed && *sealed > 0) {
        warn("The plan's words are not compared with the " + std::to_string(*sealed) + " known identifiers that are sealed: set CANALOGUE_PASSPHRASE for that.");
    }
    if (auto ok = desk::look_over_words(plan, known); !ok) return ok;
    TerminalProgress progress;
    return desk::look_over_takes(desk, a.session, plan, known, progress.progress());
}

// Nothing when it was left to the draft.
Result<std::optional<Nanos>> film_length(const std::string& words) {
    if (words.empty()) return std::optional<Nanos>{};
    const auto length = parse_time(words);
    if (!length || *length < 5 * kSecond || *length > 60 * 60 * kSecond) return wrong_use("--length wants a time between 0:05 and 1:00:00, such as 3:00.");
    return std::optional<Nanos>(*length);
}

// Those that have one place only; the others were followed or placed by a person.
Result<void> follow_pointers(desk::Desk& desk, const ClipArguments& a, Plan& plan) {
    TerminalProgress progress;
    for (auto& item : plan.items) {
        auto* passage = std::get_if<Passage>(&item);
        if (!passage) continue;
        for (auto& pointer : passage->pointers) {
            if (pointer.path.size() != 1) continue;
            auto done = desk::follow_pointer(desk, a.session, passage->recording, pointer, std::clamp(pointer.path[0].at, pointer.from, pointer.until - 1), progress.progress());
            if (!done) return done.failure();
            say((pointer.text.empty() ? std::string("A pointer") : "The pointer '" + pointer.text + "'") + ": " + *done);
        }
    }
    return {};
}

int keep_make_up(const desk::Desk& desk, const ClipArguments& a) {
    auto plan = plan_for(desk, a);
    if (!plan) return complain(plan.failure());
    auto earlier = desk::keep_make_up(*plan, a.keep_make_up);
    if (!earlier) return complain(earlier.failure());
    say("The make-up is kept; 'canalogue plan SESSION --draft --make-up FILE' uses it.");
    if (!earlier->empty()) say("What was there before is now " + earlier->string() + ".");
    return 0;
}

// What the learner's page will lack, and what a good film of a procedure shows beyond this one.
int tell_of_page(const desk::Desk& desk, const std::string& session, const Plan& plan) {
    auto left_out = desk::questions_left_out(desk, session, plan);
    if (!left_out) return complain(left_out.failure());
    for (const auto& sentence : *left_out) warn(sentence);
    say("What a good film of a procedure shows: " + assessment_text(assess(plan)));
    return 0;
}

int plan(Program& p, const ClipArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        if (a.draft && !a.plan.empty()) return complain(wrong_use("A plan is drafted or looked over: give --draft or --check, not both."));
        if (!a.make_up.empty() && !a.draft) return complain(wrong_use("A make-up is given to a new draft: add --draft."));
        if (!a.keep_make_up.empty() && !a.draft) return keep_make_up(desk, a);
        if (!a.draft && a.plan.empty()) return print_kept(desk, a);
        if (!a.draft) {
            auto plan = read_plan(a.plan);
            if (!plan) return complain(plan.failure());
            if (auto ok = desk::look_over(desk, a.session, *plan); !ok) return complain(ok.failure());
            if (auto ok = look_over_words(desk, a, *plan); !ok) return complain(ok.failure());
            if (a.follow) {
                if (auto ok = follow_pointers(desk, a, *plan); !ok) return complain(ok.failure());
                if (auto earlier = film::replace_text(a.out.empty() ? a.plan : a.out, plan_to_json(*plan)); !earlier) return complain(earlier.failure());
            }
            if (a.keep)
                if (auto kept = desk::keep_plan(desk, a.session, *plan, "keep a plan"); !kept) return complain(kept.failure());
            say("The plan is well formed and fits the session: " + std::to_string(plan->items.size()) + " items." + (a.keep ? " It is kept with the session." : ""));
            return tell_of_page(desk, a.session, *plan);
        }
        auto length = film_length(a.length);
        if (!length) return complain(length.failure());
        auto drafted = [&] {
            TerminalProgress progress;
            return desk::draft(desk, a.session, *length, progress.progress());
        }();
        if (!drafted) return complain(drafted.failure());
        for (const auto& note : drafted->notes) warn(note);
        Plan& plan = drafted->plan;
        if (!a.make_up.empty()) {
            auto made_up = desk::made_up(std::move(plan), a.make_up);
            if (!made_up) return complain(made_up.failure());
            plan = std::move(*made_up);
        }
        const std::string text = plan_to_json(plan);
        if (a.keep)
            if (auto kept = desk::keep_plan(desk, a.session, plan, "draft a plan"); !kept) return complain(kept.failure());
        if (a.out.empty()) {
            say(text);
            return 0;
        }
        auto earlier = film::replace_text(a.out, text);
        if (!earlier) return complain(earlier.failure());
        say("Drafted " + std::to_string(plan.items.size()) + " items; the film is " + format_clock(drafted->length) + " long.");
        if (!earlier->empty()) say("What was there before is now " + earlier->string() + ".");
        return 0;
    });
}

void print_report(const desk::Rendered& r) {
    char line[256];
    std::snprintf(line, sizeof line, "%s film, %ld frames, %d stills", format_clock(r.report.length).c_str(), r.report.frames, r.report.stills);
    std::string text = line;
    if (std::isfinite(r.report.loudness.integrated) && r.report.loudness.integrated < 0) {
        std::snprintf(line, sizeof line, ", %.1f LUFS, peak %.1f dBTP", r.report.loudness.integrated, r.report.loudness.true_peak);
        text += line;
    }
    say(text);
    for (const auto& note : r.notes) warn(note);
}

int render(Program& p, const ClipArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        auto audience = audience_named(a.audience);
        if (!audience) return complain(audience.failure());
        auto plan = plan_for(desk, a);
        if (!plan) return complain(plan.failure());
        if (auto ok = read_film_settings(plan->film, {a.size, a.target, a.format, a.megabytes}); !ok) return complain(ok.failure());
        auto secret = passphrase(a.passphrase_file, false);
        if (!secret) return complain(secret.failure());
        desk::RenderWish wish{a.session, std::move(*plan), *audience, a.reason, a.out, a.replace, *secret, {}, a.names_unchecked};
        for (const auto& each : a.captions_also) {
            const auto equals = each.find('=');
            wish.captions_also.emplace_back(each.substr(0, equals), equals == std::string::npos ? "" : each.substr(equals + 1));
        }
        Result<desk::Rendered> done = [&] {
            TerminalProgress progress;
            return desk::render(desk, wish, progress.progress());
        }();
        if (!done) return complain(done.failure());
        nlohmann::ordered_json ids = nlohmann::ordered_json::array();
        for (const auto& s : done->to_decide) ids.push_back({{"session", s.session}, {"suspect", s.id}});
        if (p.json)
            say_json({{"folder", done->report.folder.string()}, {"seconds", static_cast<double>(done->report.length) / kSecond}, {"frames", done->report.frames}, {"manifest_sha256", done->report.manifest_hash},
                      {"held", done->report.held}, {"to_decide", ids}, {"open_suspects", done->open_suspects}, {"notes", done->notes}, {"check", nlohmann::ordered_json::parse(film::report_json(done->report.check))}});
        else print_report(*done);
        if (!done->report.held) return 0;
        if (!p.json) say(film::report_table(done->report.check));
        return complain(refused(desk::why_held(*done)));
    });
}

struct TakeArguments {
    std::string session, file, says, id, passphrase_file;
};

// A slip of the tongue is easiest mended while the microphone is still there.
Result<void> warn_of_names(desk::Desk& desk, const TakeArguments& a, const std::string& take, const Progress& progress) {
    auto secret = passphrase(a.passphrase_file, false);
    if (!secret) return secret.failure();
    if (secret->empty()) return {};
    auto known = desk::open_known(desk, a.session, *secret);
    if (!known) return known.failure();
    auto named = desk::names_in_take(desk, a.session, take, *known, true, progress);
    if (!named) return named.failure();
    for (const auto& when : *named) warn("A known identifier may be said " + when + " of this take: listen, and record it again if it is.");
    return {};
}

int take(Program& p, const TakeArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        if (!a.id.empty()) {
            if (auto gone = desk::drop_take(desk, a.session, a.id); !gone) return complain(gone.failure());
            say(a.id + " is dropped; 'canalogue undo " + a.session + "' brings it back.");
            return 0;
        }
        if (a.file.empty()) return complain(wrong_use("Which sound? Name it with --file and its words with --says."));
        TerminalProgress progress;
        auto id = desk::keep_take_from(desk, a.session, a.file, a.says, progress.progress());
        if (!id) return complain(id.failure());
        say(*id + R"( is kept. In a plan: {"says": "...", "take": ")" + *id + "\"}.");
        if (auto ok = warn_of_names(desk, a, *id, progress.progress()); !ok) return complain(ok.failure());
        return 0;
    });
}

int takes(Program& p, const TakeArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        auto all = desk::takes(desk, a.session);
        if (!all) return complain(all.failure());
        nlohmann::ordered_json list = nlohmann::ordered_json::array();
        for (const auto& t : *all) {
            list.push_back({{"id", t.id}, {"seconds", static_cast<double>(t.length) / kSecond}, {"says", t.says}});
            if (!p.json) say(t.id + "  " + format_time(t.length / kMillisecond * kMillisecond) + "  " + t.says);
        }
        if (p.json) say_json(list);
        else if (all->empty()) say("No take is recorded for this session; 'canalogue take' adds one from a file.");
        return 0;
    });
}

void add_take_commands(Program& p) {
    auto* a = p.keep<TakeArguments>();
    auto* take_command = p.add("take", "Add a recorded narration line, or drop one", "canalogue take s1 --file line.wav --says \"The canal is clear.\"");
    take_command->add_option("SESSION", a->session)->required();
    take_command->add_option("--file", a->file, "Any file with sound; silence at its ends is taken off, it is kept sealed")->type_name("FILE");
    take_command->add_option("--says", a->says, "Its words, which captions show")->type_name("TEXT");
    take_command->add_option("--drop", a->id, "Take this one off the list")->type_name("TAKE");
    take_command->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE; listens whether the take says what is sealed")->type_name("FILE");
    take_command->callback([&p, a] { p.run = [&p, a] { return take(p, *a); }; });
    auto* list = p.add("takes", "The recorded narration lines of a session", "canalogue takes s1");
    list->add_option("SESSION", a->session)->required();
    list->add_flag("--json", p.json, "For programs");
    list->callback([&p, a] { p.run = [&p, a] { return takes(p, *a); }; });
}

}  // namespace

void add_clip_commands(Program& p) {
    add_take_commands(p);
    auto* a = p.keep<ClipArguments>();
    auto* plan_command = p.add("plan", "Draft a clip's plan from the events, or look one over", "canalogue plan s1 --draft -o plan.json");
    plan_command->add_option("SESSION", a->session)->required();
    plan_command->add_flag("--draft", a->draft, "Propose a plan");
    plan_command->add_option("--length", a->length, "How long the drafted film should be, such as 3:00 (hit within a twentieth)")->type_name("TIME");
    plan_command->add_option("--check", a->plan, "Look this plan over")->type_name("FILE");
    plan_command->add_flag("--follow", a->follow, "With --check: follow each pointer that has one place through its time, and write the plan");
    plan_command->add_option("--make-up", a->make_up, "With --draft: film settings, frame cards, credits as in this file")->type_name("FILE");
    plan_command->add_option("--keep-make-up", a->keep_make_up, "Write the make-up of the plan (--check FILE, else the kept one) for the next case")->type_name("FILE");
    plan_command->add_flag("--keep", a->keep, "Keep it with the session, where the window shows it");
    plan_command->add_option("-o,--output", a->out, "Where to write it (otherwise printed)")->type_name("FILE");
    plan_command->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE; compares the plan's words with what is sealed")->type_name("FILE");
    plan_command->callback([&p, a] { p.run = [&p, a] { return plan(p, *a); }; });

    auto* render_command = p.add("render", "Make the clip: covered, narrated, captioned, checked", "canalogue render s1 --plan plan.json --out clip");
    render_command->add_option("SESSION", a->session)->required();
    render_command->add_option("--plan", a->plan, "A file that 'canalogue plan' drafted or you wrote (otherwise the one kept with the session)")->type_name("FILE");
    render_command->add_option("--out", a->out, "A new folder; it appears whole or not at all")->required()->type_name("DIR");
    render_command->add_option("--size", a->size, "1280x720, 1920x1080, 720x1280, 1080x1920, 720x720 or 1080x1080; this and the next three instead of what the plan says")->type_name("WxH");
    render_command->add_option("--target", a->target, "web, master (to be kept and cut again) or message (at most so many megabytes)")->type_name("FOR");
    render_command->add_option("--megabytes", a->megabytes, "Of a message, sound included")->type_name("N");
    render_command->add_option("--format", a->format, "mp4 (H.264 and AAC) or webm (VP9 and Opus)")->type_name("KIND");
    render_command->add_option("--audience", a->audience, "care, patient, learners (if left out) or public")->type_name("WHO");
    render_command->add_option("--reason", a->reason, "Needed for care and patient; recorded")->type_name("TEXT");
    render_command->add_option("--captions-also", a->captions_also, "Captions in another language, timed for this film: cy=FILE (WebVTT or SubRip)")->type_name("LANGUAGE=FILE");
    render_command->add_flag("--replace", a->replace, "Put it in the place of an earlier export");
    render_command->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE")->type_name("FILE");
    render_command->add_flag("--names-unchecked", a->names_unchecked, "Without the passphrase, although identifiers are sealed; the manifest says so");
    render_command->add_flag("--json", p.json, "For programs");
    render_command->callback([&p, a] { p.run = [&p, a] { return render(p, *a); }; });
}

}  // namespace canalogue::cli
