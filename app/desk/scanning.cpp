#include "app/desk/scanning.hpp"

#include <algorithm>

#include "app/core/cover.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/recalibrating.hpp"
#include "app/desk/sampling.hpp"
#include "app/media/fields.hpp"
#include "app/plugin_host/spotter_process.hpp"
#include "app/store/vault.hpp"
#include "plugins/sdk/reading.hpp"

namespace canalogue::desk {

namespace {

constexpr std::size_t kMostWordsBytes = 16'000;  // of a suspect; then what goes on is another suspect

// What was read of a suspect while this scan runs, one reading a line.
using WordsRead = std::map<std::string, std::string>;

std::string_view first_line(std::string_view text) { return text.substr(0, text.find('\n')); }

// A suspect is judged by its words: what reads otherwise is another one, and so is what goes on from a
// scan before, whose words are sealed.
bool same_words(const WordsRead& read, const std::string& suspect, const std::string& words) {
    const auto before = read.find(suspect);
    if (before == read.end()) return false;
    return before->second.size() + words.size() < kMostWordsBytes && plugin::same_wording(first_line(before->second), first_line(words));
}

// `words` and those lines of `more` that are not there yet.
std::string with_lines(std::string words, std::string_view more) {
    for (std::size_t at = 0; at < more.size();) {
        const auto line = first_line(more.substr(at));
        at += line.size() + 1;
        if (("\n" + words + "\n").find("\n" + std::string(line) + "\n") == std::string::npos) words += (words.empty() ? "" : "\n") + std::string(line);
    }
    return words;
}

// Proposals that one and the same thing gave in neighbouring spans become one suspect.
bool same_thing(const Suspect& old, const Proposal& p, const std::string& spotter) {
    if (old.spotter != spotter || old.kind != p.kind || old.field != p.field || old.decision.verdict != Verdict::open) return false;
    if (old.span.end < p.span.start - kSecond / 2) return false;
    if (old.track.empty() && p.track.empty()) return p.kind == SuspectKind::outside || p.kind == SuspectKind::speech;
    if (old.track.empty() || p.track.empty()) return false;
    const UprightBox a = old.track.back().box, b = p.track.front().box;
    return common(a, b).area() * 10 >= std::max(a.area(), b.area()) * 6;
}

// From pixels of a shrunk picture to those of the whole one, outwards.
void enlarge(std::vector<Proposal>& found, Size shown, Size whole) {
    if (shown == whole || shown.w == 0) return;
    const auto down = [](int v, int to, int from) { return static_cast<int>(static_cast<std::int64_t>(v) * to / from); };
    const auto up = [](int v, int to, int from) { return static_cast<int>((static_cast<std::int64_t>(v) * to + from - 1) / from); };
    for (auto& p : found)
        for (auto& point : p.track) {
            const UprightBox b = point.box;
            const int x = down(b.x, whole.w, shown.w), y = down(b.y, whole.h, shown.h);
            point.box = {x, y, up(b.x + b.w, whole.w, shown.w) - x, up(b.y + b.h, whole.h, shown.h) - y};
        }
}

class Scan {
  public:
    Scan(Desk& desk, std::string session, const Progress& progress) : desk_(desk), session_(std::move(session)), progress_(progress) {}

    Result<ScanReport> run() {
        auto recordings = desk_.recordings(session_);
        if (!recordings) return recordings.failure();
        if (recordings->empty()) return wrong_use("The session has no recording to scan; import one first.");
        desk_.ask_spotters();
        for (const auto& id : required_spotters())
            if (const PluginInfo* plugin = desk_.plugins.find(id); !plugin || !plugin->available)
                report_.troubles.push_back(plugin && !plugin->why_not.empty() ? plugin->why_not : "The spotter '" + id + "' is not installed.");
        for (const auto& r : *recordings)
            if (auto ok = scan_recording(r); !ok) return ok.failure();
        return report_;
    }

  private:
    // A spotter at work on one recording.
    struct Worker {
        SpotterProcess process;
        std::vector<RecordingSpan> todo;
        bool broke = false;  // in the piece before; then the one after, which was on its way already, failed with it
    };

    Result<void> scan_recording(const Recording& r) {
        std::vector<std::unique_ptr<Worker>> workers;
        for (const auto& id : required_spotters())
            if (auto ok = engage(id, r, workers); !ok) return ok;
        const auto reads = view_reads(desk_, session_, r);
        if (!reads) return reads.failure();
        Offering offering(desk_, r, Offering::Times::shown, "Scanning", progress_);
        // Spans that several have not finished are decoded once for all of them.
        std::map<std::pair<Nanos, Nanos>, std::vector<Worker*>> pieces;
        for (auto& w : workers) {
            const PluginProcess& p = w->process;
            const Size size = offering.shown_to(p);
            const RecordingAbout about{p.wants_frames() || p.wants_sound() ? size : upright_size(r.stored, r.rotation), r.only.end.ns, reads->inside, reads->outside};
            if (auto ok = w->process.begin_recording(about); !ok) {
                if (auto t = trouble(ok.failure()); !t) return t;
                continue;
            }
            const bool watches = size.w > 0 || (p.wants_sound() && r.has_sound);
            if (!watches) {
                if (auto ok = scan_without_watching(*w, r); !ok) return ok;
                continue;
            }
            for (const auto& span : in_pieces(w->todo)) pieces[{span.start.ns, span.end.ns}].push_back(w.get());
        }
        if (auto ok = scan_pieces(offering, r, pieces); !ok) return ok;
        return keep_forced(r);
    }

    // Who sees somebody is outside, whatever the view looks like: of faces that nobody has judged, the stretches that
    // no suspect of the whole picture holds become such suspects. Doing it again adds nothing, so that a scan which was
    // stopped before this is made good by the next.
    Result<void> keep_forced(const Recording& r) {
        auto suspects = desk_.library.all<Suspect>(session_);
        if (!suspects) return suspects.failure();
        std::vector<Suspect> found;
        for (const auto& s : *suspects)
            if (s.decision.verdict == Verdict::open) found.push_back(s);
        std::vector<store::Change> changes;
        for (const auto& [span, spotter, sureness] : forced_outside(r, found, *suspects)) {
            auto id = desk_.library.next_id(session_, "x");
            if (!id) return id.failure();
            changes.push_back(store::put(Suspect{*id, session_, r.id, SuspectKind::outside, span, {}, sureness, spotter, "somebody is in view", {}}));
            ++report_.found;
        }
        if (changes.empty()) return {};
        auto done = desk_.library.commit({session_, "cover where somebody is in view", "canalogue", std::move(changes), false});
        if (!done) return done.failure();
        return {};
    }

    // Starts a spotter that has something left to do in this recording.
    Result<void> engage(const std::string& id, const Recording& r, std::vector<std::unique_ptr<Worker>>& workers) {
        const PluginInfo* plugin = desk_.plugins.find(id);
        if (!plugin || !plugin->available) return {};
        auto scanned = desk_.library.all<Scanned>(session_);
        if (!scanned) return scanned.failure();
        std::vector<RecordingSpan> todo;
        for (const auto& gap : unscanned(r, *scanned, {{plugin->id, plugin->version}}))
            if (gap.spotter == plugin->id) todo.push_back(gap.span);
        if (todo.empty()) return {};
        auto process = SpotterProcess::start(*plugin, desk_.host);
        if (!process) return trouble(process.failure());
        workers.push_back(std::make_unique<Worker>(Worker{std::move(*process), std::move(todo)}));
        return {};
    }

    // What the file says about itself; or nothing at all, where a recording has no picture or no sound.
    Result<void> scan_without_watching(Worker& w, const Recording& r) {
        std::vector<Proposal> found;
        if (w.process.wants_fields()) {
            auto fields = media::fields_of(r.path);
            if (!fields) return trouble(fields.failure());
            std::vector<Field> told;
            for (const auto& f : *fields) told.push_back({f.name, f.value});
            auto answer = w.process.fields(told);
            if (!answer) return trouble(answer.failure());
            found = std::move(*answer);
            for (auto& p : found) p.span = r.only;
        }
        return keep(w.process.plugin(), r, r.only, found);
    }

    // A stretch that spotters are at, and what they have said of it.
    struct Piece {
        RecordingSpan span;
        std::vector<Worker*> who;
        std::shared_ptr<std::vector<std::optional<Result<std::vector<Proposal>>>>> answers;
        Offering::Started started;
    };

    // Each piece is decoded while the spotters are still at the one before.
    Result<void> scan_pieces(Offering& offering, const Recording& r, const std::map<std::pair<Nanos, Nanos>, std::vector<Worker*>>& pieces) {
        std::optional<Piece> before;
        for (const auto& [ends, who] : pieces) {
            Piece now{{{ends.first}, {ends.second}}, who, std::make_shared<std::vector<std::optional<Result<std::vector<Proposal>>>>>(who.size()), {}};
            std::vector<PluginProcess*> plugins;
            for (auto* w : who) plugins.push_back(&w->process);
            auto started = offering.start(plugins, now.span, [who, answers = now.answers](std::size_t i) -> Result<void> {
                auto& answer = (*answers)[i];
                answer = who[i]->process.end_span();
                if (!*answer) return answer->failure();
                return {};
            });
            if (before)
                if (auto ok = collect(offering, r, std::move(*before)); !ok) return ok;
            before.reset();
            if (!started) {
                if (auto t = trouble(started.failure()); !t) return t;
                continue;
            }
            now.started = std::move(*started);
            before = std::move(now);
        }
        return before ? collect(offering, r, std::move(*before)) : Result<void>{};
    }

    Result<void> collect(Offering& offering, const Recording& r, Piece piece) {
        auto offered = offering.finish(std::move(piece.started));
        if (!offered) return trouble(offered.failure());
        for (std::size_t i = 0; i < piece.who.size(); ++i) {
            SpotterProcess& process = piece.who[i]->process;
            const auto once_more = [&]() -> Result<std::vector<Proposal>> {
                std::optional<Result<std::vector<Proposal>>> answer;
                auto again = offering.offer({&process}, piece.span, [&](std::size_t) -> Result<void> {
                    answer = process.end_span();
                    if (!*answer) return answer->failure();
                    return {};
                });
                if (!again) return again.failure();
                if (auto& own = again->front(); !own) return own.failure();
                return *answer;
            };
            const auto& own = (*offered)[i];
            if (!own) offering.settle(process);
            const bool by_no_fault = !own && piece.who[i]->broke;
            piece.who[i]->broke = !own;
            auto first = own ? *(*piece.answers)[i] : by_no_fault ? once_more() : Result<std::vector<Proposal>>(own.failure());
            auto found = tried_again(process, std::move(first), once_more);
            if (found) enlarge(*found, offering.shown_to(process), upright_size(r.stored, r.rotation));
            if (auto ok = found ? keep(process.plugin(), r, piece.span, *found) : trouble(found.failure()); !ok) return ok;
        }
        return {};
    }

    // What could not be done is told and stays unscanned; being stopped ends the work.
    Result<void> trouble(const Failure& f) {
        if (f.trouble == Trouble::cancelled) return f;
        if (std::find(report_.troubles.begin(), report_.troubles.end(), f.sentence) == report_.troubles.end()) report_.troubles.push_back(f.sentence);
        return {};
    }

    // New suspects and the span's mark in one transaction: a crash between them cannot happen.
    Result<void> keep(const PluginInfo& plugin, const Recording& r, RecordingSpan span, const std::vector<Proposal>& found) {
        const std::string spotter = plugin.id + " " + plugin.version;
        auto suspects = desk_.library.all<Suspect>(session_);
        if (!suspects) return suspects.failure();
        std::vector<store::Change> changes;
        for (const auto& p : found) {
            auto same = std::find_if(suspects->begin(), suspects->end(), [&](const Suspect& s) { return s.recording == r.id && same_thing(s, p, spotter) && same_words(read_, s.id, p.words); });
            Suspect s;
            if (same != suspects->end()) {
                s = *same;
                s.span.end = std::max(s.span.end, p.span.end);
                s.track.insert(s.track.end(), p.track.begin(), p.track.end());
                s.sureness = std::max(s.sureness, p.sureness);
                *same = s;
            } else {
                auto id = desk_.library.next_id(session_, "x");
                if (!id) return id.failure();
                s = {*id, session_, r.id, p.kind, p.span, p.track, p.sureness, spotter, p.field, {}};
                suspects->push_back(s);
                ++report_.found;
            }
            changes.push_back(store::put(s));
            std::string& words = read_[s.id];
            words = with_lines(std::move(words), p.words);
            if (auto ok = seal_words(s.id, words); !ok) return ok;
        }
        const Scanned mark{r.id, plugin.id, plugin.version, span, "", ""};
        auto id = desk_.library.next_id(session_, "c");
        if (!id) return id.failure();
        changes.push_back(store::put(*id, mark));
        auto done = desk_.library.commit({session_, "scan with " + plugin.id, "canalogue", std::move(changes), false});
        if (!done) return done.failure();
        report_.scanned += span.length();
        return {};
    }

    // Words that were read identify people: they are kept sealed, or not at all.
    Result<void> seal_words(const std::string& suspect, const std::string& words) {
        if (words.empty()) return {};
        auto vault = desk_.library.vault();
        if (!vault) return vault.failure();
        if (!*vault) return {};
        return desk_.library.keep_sealed(session_, kWordsRead, suspect, store::Vault::put(**vault, words));
    }

    Desk& desk_;
    std::string session_;
    const Progress& progress_;
    WordsRead read_;
    ScanReport report_;
};

}  // namespace

Result<ScanReport> scan(Desk& desk, const std::string& session, const Progress& progress) {
    if (auto s = desk.session(session); !s) return s.failure();
    return Scan(desk, session, progress).run();
}

}  // namespace canalogue::desk
