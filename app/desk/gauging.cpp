#include "app/desk/gauging.hpp"

#include <algorithm>

#include "app/core/suggest.hpp"
#include "app/desk/sampling.hpp"
#include "app/desk/signing.hpp"
#include "app/plugin_host/gauge_process.hpp"

namespace canalogue::desk {

namespace {

std::string covered_version(const PluginInfo& plugin, const std::pair<const std::string, Covers>& covers) {
    return plugin.version + " of covered " + hash_of({covers}).substr(0, 16);
}

class Measuring {
  public:
    // covers: null for the pictures as they are.
    Measuring(Desk& desk, std::string session, const std::map<std::string, Covers>* covers, const Progress& progress)
        : desk_(desk), session_(std::move(session)), covers_(covers), progress_(progress) {}

    Result<GaugeReport> run() {
        auto recordings = desk_.recordings(session_);
        if (!recordings) return recordings.failure();
        if (recordings->empty()) return wrong_use("The session has no recording to measure; import one first.");
        for (const auto& plugin : desk_.plugins.plugins()) {
            if (plugin.provides != Provides::gauge) continue;
            if (!plugin.available) report_.troubles.push_back(plugin.why_not);
            for (const auto& r : *recordings)
                if (plugin.available)
                    if (auto ok = measure_recording(plugin, r); !ok) return ok.failure();
        }
        return report_;
    }

  private:
    Result<void> measure_recording(const PluginInfo& plugin, const Recording& r) {
        auto kept = desk_.library.traces(session_);
        if (!kept) return kept.failure();
        std::vector<RecordingSpan> measured;
        for (const auto& t : *kept)
            if (t.recording == r.id && t.gauge == plugin.id && t.version == version_of(plugin, r)) measured.push_back(t.span());
        if (covers_)
            for (const auto& cover : covers_->at(r.id).picture)
                if (cover.whole) measured.push_back(cover.span);  // nothing to see
        const auto todo = in_pieces(gaps_in(r.only, measured));
        if (todo.empty()) return {};
        auto gauge = GaugeProcess::start(plugin, desk_.host);
        if (!gauge) return trouble(gauge.failure());
        Offering offering(desk_, r, Offering::Times::instants, (covers_ ? "Looking at what is left under the covers with '" : "Measuring with '") + plugin.name + "'", progress_);
        if (covers_) offering.cover(covers_->at(r.id));
        const Size size = offering.shown_to(*gauge);
        if (covers_ && (size.w == 0 || gauge->wants_sound())) return {};
        if (size.w == 0 && !(gauge->wants_sound() && r.has_sound)) return {};
        if (auto ok = gauge->begin_recording({size, r.only.end.ns}); !ok) return trouble(ok.failure());
        for (const auto& span : todo) {
            const auto measured_now = [&]() -> Result<std::vector<Trace>> {
                std::optional<Result<std::vector<Trace>>> traces;
                auto offered = offering.offer({&*gauge}, span, [&](std::size_t) -> Result<void> {
                    traces = gauge->end_span();
                    if (!*traces) return traces->failure();
                    return {};
                });
                if (!offered) return offered.failure();
                if (auto& own = offered->front(); !own) return own.failure();
                return *traces;
            };
            auto found = tried_again(*gauge, measured_now(), measured_now);
            if (auto ok = found ? keep(plugin, r, span, std::move(*found)) : trouble(found.failure()); !ok) return ok;
        }
        return {};
    }

    // What is measured under covers is another measurement: it goes with the covers.
    std::string version_of(const PluginInfo& plugin, const Recording& r) const {
        return covers_ ? covered_version(plugin, *covers_->find(r.id)) : plugin.version;
    }

    Result<void> keep(const PluginInfo& plugin, const Recording& r, RecordingSpan span, std::vector<Trace> found) {
        for (auto& t : found) t.recording = r.id, t.version = version_of(plugin, r);
        report_.measured += span.length();
        return desk_.library.keep_traces(session_, found);
    }

    // What a gauge could not do is told and passed over; being stopped, or a film that cannot be read,
    // ends the work.
    Result<void> trouble(const Failure& f) {
        if (f.trouble == Trouble::cancelled || f.trouble == Trouble::bad_media) return f;
        report_.troubles.push_back(f.sentence);
        return {};
    }

    Desk& desk_;
    std::string session_;
    const std::map<std::string, Covers>* covers_;
    const Progress& progress_;
    GaugeReport report_;
};

// The event of a suggestion; nullopt when nothing says which ear it is.
std::optional<Event> event_of(const Suggestion& s, const std::vector<Recording>& recordings, const std::string& author) {
    for (const auto& r : recordings) {
        if (r.id != s.recording) continue;
        const auto ear = r.ear_at(s.at);
        if (!ear) return std::nullopt;
        Event e;
        e.kind = s.kind;
        e.recording = s.recording;
        e.at = s.at;
        e.ear = *ear;
        e.author = author;
        e.origin = Origin::suggestion;
        return e;
    }
    return std::nullopt;
}

}  // namespace

Result<GaugeReport> measure(Desk& desk, const std::string& session, const Progress& progress) {
    if (auto s = desk.session(session); !s) return s.failure();
    return Measuring(desk, session, nullptr, progress).run();
}

Result<CoveredTraces> measure_covered(Desk& desk, const std::string& session, const std::map<std::string, Covers>& covers, const Progress& progress) {
    auto report = Measuring(desk, session, &covers, progress).run();
    if (!report) return report.failure();
    auto kept = desk.library.traces(session);
    if (!kept) return kept.failure();
    std::erase_if(*kept, [&](const Trace& t) {
        const PluginInfo* plugin = desk.plugins.find(t.gauge);
        const auto of = covers.find(t.recording);
        return !plugin || of == covers.end() || t.version != covered_version(*plugin, *of);
    });
    return CoveredTraces{joined(std::move(*kept)), std::move(report->troubles)};
}

Result<std::vector<Trace>> traces(Desk& desk, const std::string& session) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto kept = desk.library.traces(session);
    if (!kept) return kept;
    std::erase_if(*kept, [&](const Trace& t) {
        const PluginInfo* plugin = desk.plugins.find(t.gauge);
        return !plugin || plugin->provides != Provides::gauge || plugin->version != t.version;
    });
    return joined(std::move(*kept));
}

std::vector<GaugeSummary> summaries_of(const std::vector<Trace>& traces) {
    std::vector<GaugeSummary> out;
    std::vector<std::size_t> steps;
    for (const auto& t : traces) {
        auto same = std::find_if(out.begin(), out.end(), [&](const GaugeSummary& s) { return s.recording == t.recording && s.gauge == t.gauge && s.channel == t.channel; });
        if (same == out.end()) {
            same = out.insert(out.end(), {t.recording, t.gauge, t.channel, 0, 0, 0});
            steps.push_back(0);
        }
        auto& count = steps[static_cast<std::size_t>(same - out.begin())];
        for (std::size_t i = 0; i < t.bytes.size(); ++i)
            if (const auto v = t.value(i)) {
                same->mean += *v;
                same->low_share += *v < .5;
                same->measured += t.step;
                ++count;
            }
    }
    for (std::size_t i = 0; i < out.size(); ++i) {
        const double n = static_cast<double>(std::max<std::size_t>(1, steps[i]));
        out[i].mean /= n;
        out[i].low_share /= n;
    }
    return out;
}

Result<SuggestReport> suggest(Desk& desk, const std::string& session) {
    auto measured = traces(desk, session);
    if (!measured) return measured.failure();
    auto vocabulary = desk.vocabulary_of(session);
    if (!vocabulary) return vocabulary.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto events = desk.events(session);
    if (!events) return events.failure();
    auto dismissed = desk.library.all<Dismissed>(session);
    if (!dismissed) return dismissed.failure();
    SuggestReport report;
    std::vector<store::Change> changes;
    bool sideless = false;
    for (const auto& s : suggestions_from(*measured)) {
        if (!vocabulary->find(s.kind) || said_already(s, *events, *dismissed)) continue;
        auto e = event_of(s, *recordings, "canalogue");
        sideless |= !e;
        if (!e) continue;
        auto id = desk.library.next_id(session, "e");
        if (!id) return id.failure();
        e->id = *id;
        changes.push_back(store::put(*e));
        events->push_back(*e);
        report.made.push_back(std::move(*e));
    }
    if (sideless) report.troubles.push_back("Some moments suggest an event, but nothing says which ear is shown there: tell it with 'canalogue side' and suggest again.");
    if (changes.empty()) return report;
    const std::string verb = "suggest " + std::to_string(changes.size()) + (changes.size() == 1 ? " event" : " events");
    auto done = desk.library.commit({session, verb, desk.person, std::move(changes)});
    if (!done) return done.failure();
    return report;
}

Result<void> dismiss_suggestions(Desk& desk, const std::string& session, const std::vector<std::string>& ids) {
    if (auto s = desk.session(session); !s) return s.failure();
    std::vector<store::Change> changes;
    for (const auto& id : ids) {
        auto found = desk.library.find<Event>(session, id);
        if (!found) return found.failure();
        if (!*found || (*found)->origin != Origin::suggestion)
            return wrong_use("There is no suggestion of that id in this session; 'canalogue events' lists them, 'canalogue delete' takes an event away.");
        changes.push_back({store::Stored<Event>::kind, id, std::nullopt});
        changes.push_back(store::put(Dismissed{id, (*found)->kind, (*found)->recording, (*found)->at}));
    }
    if (changes.empty()) return wrong_use("Say which suggestions to dismiss; 'canalogue events' lists them.");
    const std::string verb = ids.size() == 1 ? "dismiss a suggestion" : "dismiss " + std::to_string(ids.size()) + " suggestions";
    auto done = desk.library.commit({session, verb, desk.person, std::move(changes)});
    if (!done) return done.failure();
    return {};
}

}  // namespace canalogue::desk
