#include "app/desk/rendering.hpp"

#include <algorithm>
#include <iterator>

#include "app/core/cover.hpp"
#include "app/core/text.hpp"
#include "app/desk/checking.hpp"
#include "app/desk/deciding.hpp"
#include "app/desk/hearing.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/planning.hpp"
#include "app/desk/signing.hpp"
#include "app/desk/sources.hpp"
#include "app/desk/takes.hpp"
#include "app/desk/visiting.hpp"
#include "app/media/file_hash.hpp"

namespace canalogue::desk {

namespace {

// The cause for which a vocabulary's kind says that nothing of the ear is seen.
constexpr std::string_view kOutOfTheEar = "ear";

// A source of a render by its session and recording: those of other visits are named "visit/r1".
std::pair<std::string, std::string> whose(const std::string& source, const std::string& own) {
    const auto slash = source.find('/');
    return slash == std::string::npos ? std::pair(own, source) : std::pair(source.substr(0, slash), source.substr(slash + 1));
}

// What the check found becomes suspects of the recordings, in their own sessions: covered from now on, and for a person to
// decide. What a person was asked about before is not asked again.
Result<std::vector<Suspect>> suspects_of_check(Desk& desk, const RenderWish& wish, const film::RenderReport& report, const std::vector<film::SourceRecording>& sources) {
    std::vector<Suspect> out;
    for (const auto& f : report.found) {
        const auto source = std::find_if(sources.begin(), sources.end(), [&](const film::SourceRecording& s) { return s.recording.id == f.recording; });
        if (source == sources.end()) continue;
        const auto [session, recording] = whose(f.recording, wish.session);
        const RecordingSpan whole = source->recording.only, span{std::max(f.span.start, whole.start), std::min(f.span.end, whole.end)};
        auto there = desk.library.all<Suspect>(session);
        if (!there) return there.failure();
        const bool asked = std::any_of(there->begin(), there->end(), [&, r = recording](const Suspect& s) { return s.recording == r && s.kind == f.kind && s.spotter == kSpottedInFilm && s.span.start <= span.start && span.end <= s.span.end; });
        if (span.empty() || asked) continue;
        auto id = desk.library.next_id(session, "x");
        if (!id) return id.failure();
        out.push_back({*id, session, recording, f.kind, span, {}, f.sureness, kSpottedInFilm, f.kind == SuspectKind::outside ? "somebody is in view" : "", {}});
        if (session == wish.session) continue;
        if (auto done = desk.library.commit({session, "what the check of a film found", desk.person, {store::put(out.back())}, false}); !done) return done.failure();
    }
    return out;
}

// Suspects that the check of an earlier film added and a person judged harmless, of all sources.
Result<std::vector<Suspect>> judged_before(Desk& desk, const std::vector<film::SourceRecording>& sources, const std::string& own) {
    std::vector<Suspect> out;
    for (const auto& source : sources) {
        const auto [session, recording] = whose(source.recording.id, own);
        auto all = desk.library.all<Suspect>(session);
        if (!all) return all.failure();
        for (auto& s : *all) {
            if (s.recording != recording || s.spotter != kSpottedInFilm || s.decision.verdict != Verdict::harmless) continue;
            s.recording = source.recording.id;
            out.push_back(std::move(s));
        }
    }
    return out;
}

// The spotters for which a person stood in over a part of the session's recordings.
Result<std::vector<std::string>> stood_in_for(Desk& desk, const std::string& session) {
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto scanned = desk.library.all<Scanned>(session);
    if (!scanned) return scanned.failure();
    std::erase_if(*scanned, [](const Scanned& s) { return s.version == "watched"; });
    const auto versions = desk.spotter_versions();
    std::vector<std::string> out;
    for (const auto& r : *recordings)
        for (const auto& u : unscanned(r, *scanned, versions))
            if (std::find(out.begin(), out.end(), u.spotter) == out.end()) out.push_back(u.spotter);
    return out;
}

// The tie between an export and its source stays here, in the library; with it go the suspects that its check added.
Result<void> keep_tie(Desk& desk, const RenderWish& wish, const film::RenderReport& report, const std::vector<film::SourceRecording>& sources, const std::string& reason,
                      const std::vector<Suspect>& found) {
    auto id = desk.library.next_id(wish.session, "o");
    if (!id) return id.failure();
    nlohmann::json recordings = nlohmann::json::array();
    for (const auto& s : sources) recordings.push_back(s.recording.hash);
    std::map<std::string, Covers> covers;
    for (const auto& s : sources) covers[s.recording.id] = s.covers;
    const nlohmann::json body = {{"id", *id},
                                 {"at", store::utc_now()},
                                 {"covers", hash_of(covers)},
                                 {"manifest", report.manifest_hash},
                                 {"audience", name_of(wish.audience)},
                                 {"recordings", recordings},
                                 {"plan", media::hash_bytes(plan_to_json(wish.plan))},
                                 {"held", report.held},
                                 {"private", {{"folder", std::filesystem::absolute(report.folder).string()}, {"reason", reason}}}};
    const std::string verb = std::string(report.held ? "hold export for " : "render for ") + std::string(name_of(wish.audience));
    std::vector<store::Change> changes{{"export", *id, body}};
    for (const auto& s : found)
        if (s.session == wish.session) changes.push_back(store::put(s));
    auto done = desk.library.commit({wish.session, verb, desk.person, std::move(changes), false});
    if (!done) return done.failure();
    return {};
}

// What a person must know before this film is shown to strangers.
std::vector<std::string> notes_for_strangers(const film::RenderJob& job, const std::vector<SuspectLine>& lines, int open) {
    std::vector<std::string> out;
    if (open > 0) out.push_back(std::to_string(open) + (open == 1 ? " suspect is open: it is covered, and a person must still judge it." : " suspects are open: they are covered, and a person must still judge them."));
    if (job.check.known_identifiers.empty())
        out.push_back("The film was not compared with known identifiers (" + job.check.why_none_known + "): a name in it would not be noticed. 'canalogue known' seals them; set CANALOGUE_PASSPHRASE to compare.");
    const bool tagged = std::any_of(job.events.begin(), job.events.end(), [&](const Event& e) {
        const EventKind* kind = job.vocabulary->find(e.kind);
        return kind && kind->blind == kOutOfTheEar;
    });
    const bool covered = std::any_of(lines.begin(), lines.end(), [](const SuspectLine& l) { return l.suspect.kind == SuspectKind::outside && l.suspect.decision.verdict == Verdict::cover; });
    if (!tagged && !covered)
        out.push_back("Nothing says where the scope was out of the ear: cover such spans by hand with 'canalogue cover --whole'.");
    out.push_back("Detectors miss things: watch the film and listen to it before it is shown.");
    return out;
}

// Encoded passages are sealed with a key of their own, which the session's key seals: with that they go.
constexpr const char* kPassages = "passages";

std::optional<store::SealKey> passages_key(Desk& desk, const std::string& session) {
    const auto kept = desk.library.sealed(session, kPassages);
    if (!kept) return std::nullopt;
    if (const auto it = kept->find("key"); it != kept->end()) return store::SealKey::from_bytes(it->second);
    const store::SealKey fresh = store::SealKey::fresh();
    if (!desk.library.keep_sealed(session, kPassages, "key", fresh.bytes())) return std::nullopt;
    return fresh;
}

std::optional<film::CachePlace> passages_kept(Desk& desk, const std::string& session) {
    const auto key = passages_key(desk, session);
    if (!key) return std::nullopt;  // a cache: works without
    return film::CachePlace{desk.library.folder() / "cache" / "passages", [key](std::string_view plain) { return key->seal(plain); }, [key](std::string_view sealed) { return key->open(sealed); }};
}

// The library's own folders are swept and kept by rules of their own.
Result<void> outside_the_library(const Desk& desk, const std::filesystem::path& out) {
    std::error_code ec;
    const auto library = std::filesystem::weakly_canonical(desk.library.folder(), ec);
    const auto place = std::filesystem::weakly_canonical(std::filesystem::absolute(out, ec), ec);
    if (std::mismatch(library.begin(), library.end(), place.begin(), place.end()).first != library.end()) return {};
    return wrong_use("The place given with --out lies in the library's own folder: name one outside of it.");
}

// Somebody sealed the patient's name so that it cannot slip into a film: without the passphrase it can.
Result<void> names_can_be_told(const Desk& desk, const RenderWish& wish) {
    auto sealed = count_known(desk, wish.session);
    if (!sealed) return sealed.failure();
    if (*sealed == 0 || !wish.passphrase.empty() || wish.names_unchecked) return {};
    return refused("Known identifiers are sealed for this session (" + std::to_string(*sealed) + "), and without the library's passphrase the film cannot be compared with them: unlock it (in the window at the Privacy desk; on the command line by CANALOGUE_PASSPHRASE). Only the command line can do without: --names-unchecked.");
}

// Other visits that passages are shown beside; what is sealed for them is compared with, too.
Result<void> add_visits(Desk& desk, const RenderWish& wish, std::vector<film::SourceRecording>& sources, film::CheckOptions& options, const Progress& progress) {
    for (const auto& visit : visits_of(wish.plan, wish.session)) {
        if (!may_identify(wish.audience)) {
            RenderWish there = wish;
            there.session = visit;
            if (auto ok = names_can_be_told(desk, there); !ok) return ok;
        }
        auto known = check_options(desk, visit, wish.passphrase);
        if (!known) return known.failure();
        options.known_identifiers.insert(options.known_identifiers.end(), known->known_identifiers.begin(), known->known_identifiers.end());
    }
    auto more = visit_sources(desk, wish.plan, wish.session, wish.audience, progress);
    if (!more) return more.failure();
    std::move(more->begin(), more->end(), std::back_inserter(sources));
    return {};
}

// On whose word the film rests besides the program's.
void add_trust(const film::CheckReport& check, const std::vector<std::string>& stood_in, std::vector<std::string>& notes) {
    int judged = 0;
    for (const auto& look : check.looks) judged += look.judged;
    if (judged > 0) notes.insert(notes.begin(), "The check found " + std::to_string(judged) + (judged == 1 ? " place" : " places") + " that a person had judged harmless; they are in the film.");
    std::string names;
    for (const auto& id : stood_in) names += (names.empty() ? "" : ", ") + id;
    if (!names.empty()) notes.insert(notes.begin(), "Not every part was scanned (" + names + "): where a person said that they watched instead, nothing else has looked, and what nobody watched is covered.");
}

// Captions in other languages are looked over like all words of a film.
Result<void> look_over_captions(const std::vector<film::CaptionTrack>& tracks, const std::vector<std::string>& known) {
    for (const auto& track : tracks) {
        std::string words;
        for (const auto& cue : track.cues)
            for (const auto& line : cue.lines) words += line + "\n";
        if (const auto told = telling(words, known); !told.empty()) return refused("The captions for '" + track.language + "' could tell who the patient is (" + told.front() + "). Word them in another way.");
    }
    return {};
}

// What the spotters saw, and what persons have judged.
Result<void> tell_who_looked(Desk& desk, const std::string& session, const std::vector<SuspectLine>& lines, film::RenderJob& job) {
    for (const auto& line : lines) job.judged_harmless += line.suspect.decision.verdict == Verdict::harmless;
    auto judged = judged_before(desk, job.sources, session);
    if (!judged) return judged.failure();
    job.judged = std::move(*judged);
    auto stood_in = stood_in_for(desk, session);
    if (!stood_in) return stood_in.failure();
    job.not_scanned_by = std::move(*stood_in);
    for (const auto& id : required_spotters()) {
        const PluginInfo* plugin = desk.plugins.find(id);
        job.spotters.emplace_back(id, plugin && plugin->available ? plugin->version : "");
    }
    return {};
}

}  // namespace

Result<Rendered> render(Desk& desk, const RenderWish& wish, const Progress& progress) {
    if (auto s = desk.session(wish.session); !s) return s.failure();
    auto reason = one_line(wish.reason, "The reason");
    if (!reason) return reason.failure();
    if (may_identify(wish.audience) && reason->empty())
        return refused("A film for the " + std::string(name_of(wish.audience)) + " audience may identify the patient: give the reason with --reason \"...\", it is recorded.");
    auto captions = read_captions_also(wish.captions_also, wish.plan);
    if (!captions) return captions.failure();
    if (auto ok = outside_the_library(desk, wish.out); !ok) return ok.failure();
    if (auto ok = nothing_astray(desk, wish.session); !ok) return ok.failure();
    if (auto ok = look_over(desk, wish.session, wish.plan); !ok) return ok.failure();
    auto vocabulary = desk.vocabulary_of(wish.session);
    if (!vocabulary) return vocabulary.failure();
    auto events = desk.accepted_events(wish.session);
    if (!events) return events.failure();
    auto sources = sources_for(desk, wish.session, wish.audience, progress);
    if (!sources) return sources.failure();
    auto options = check_options(desk, wish.session, wish.passphrase);
    if (!options) return options.failure();
    if (auto ok = add_visits(desk, wish, *sources, *options, progress); !ok) return ok.failure();
    auto lines = suspects(desk, wish.session);
    if (!lines) return lines.failure();
    if (!may_identify(wish.audience)) {
        if (auto ok = names_can_be_told(desk, wish); !ok) return ok.failure();
        if (auto ok = look_over_words(wish.plan, options->known_identifiers); !ok) return ok.failure();
        if (auto ok = look_over_captions(*captions, options->known_identifiers); !ok) return ok.failure();
        if (auto ok = look_over_takes(desk, wish.session, wish.plan, options->known_identifiers, progress); !ok) return ok.failure();
    }

    film::RenderJob job;
    job.captions_also = std::move(*captions);
    job.plan = wish.plan;
    job.take = [&desk, session = wish.session](const NarrationLine& line) { return take_sound(desk, session, line.take, line.text); };
    job.sources = std::move(*sources);
    for (auto& s : job.sources) s.look = job.plan.film.covers;
    job.events = std::move(*events);
    job.vocabulary = &*vocabulary;
    job.audience = wish.audience;
    job.out = wish.out;
    job.replace = wish.replace;
    job.held = desk.library.folder() / "exports" / "held";
    job.check = std::move(*options);
    job.cache = passages_kept(desk, wish.session);
    if (auto ok = tell_who_looked(desk, wish.session, *lines, job); !ok) return ok.failure();
    auto report = film::render(job, progress);
    if (!report) return report.failure();
    Rendered out;
    out.report = std::move(*report);
    for (const auto& line : *lines) out.open_suspects += asks_for_a_decision(line);
    if (!may_identify(wish.audience)) {
        out.notes = notes_for_strangers(job, *lines, out.open_suspects);
        add_trust(out.report.check, job.not_scanned_by, out.notes);
    }
    auto left_out = questions_left_out(desk, wish.session, wish.plan);
    if (!left_out) return left_out.failure();
    out.notes.insert(out.notes.begin(), left_out->begin(), left_out->end());
    auto found = suspects_of_check(desk, wish, out.report, job.sources);
    if (!found) return found.failure();
    if (auto kept = keep_tie(desk, wish, out.report, job.sources, *reason, *found); !kept) return kept.failure();
    out.to_decide = std::move(*found);
    return out;
}

std::string why_held(const Rendered& r) {
    const std::string held = "The finished film failed its check, so it was not put where you asked; it is held in the library (" + r.report.folder.string() + "). ";
    const bool all = std::all_of(r.report.check.looks.begin(), r.report.check.looks.end(), [](const film::CheckLook& l) {
        return std::all_of(l.places.begin(), l.places.end(), [](const film::CheckPlace& p) { return p.kind.has_value(); });
    });
    const std::string rest = "Mend or cover what was found (check.json there tells it) and make the film again.";
    if (r.to_decide.empty()) return held + rest;
    std::string which;
    for (const auto& s : r.to_decide)
        which += (which.empty() ? "" : ", ") + s.id + " (" + (s.kind == SuspectKind::outside ? "somebody in view" : s.kind == SuspectKind::speech ? "a voice" : "identifying words") + ", session " + s.session + ", " + s.recording + " at " + format_time(s.span.start.ns / kMillisecond * kMillisecond) + ")";
    return held + "What it found is among the suspects and covered from now on: " + which + ". Made again, the film is without it; if it is harmless, say so with the reason at the Privacy desk (F3) or with 'canalogue decide'." + (all ? "" : " " + rest);
}

}  // namespace canalogue::desk
