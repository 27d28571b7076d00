#include "app/desk/scanning.hpp"

#include <algorithm>

#include "app/core/cover.hpp"
#include "app/desk/knowing.hpp"
#include "app/media/fields.hpp"
#include "app/media/frame_reader.hpp"
#include "app/store/vault.hpp"

namespace canalogue::desk {

namespace {

// A crash loses at most this much work, and a suspect's span is cut no finer.
constexpr Nanos kSpan = 10 * kSecond;
constexpr int kTries = 2;

// Proposals that one and the same thing gave in neighbouring spans become one suspect.
bool same_thing(const Suspect& old, const Proposal& p, const std::string& spotter) {
    if (old.spotter != spotter || old.kind != p.kind || old.field != p.field || old.decision.verdict != Verdict::open) return false;
    if (old.track.empty() || p.track.empty() || old.span.end < p.span.start - kSecond / 2) return false;
    const UprightBox a = old.track.back().box, b = p.track.front().box;
    return common(a, b).area() * 10 >= std::max(a.area(), b.area()) * 6;
}

class Scan {
  public:
    Scan(Desk& desk, std::string session, const Progress& progress) : desk_(desk), session_(std::move(session)), progress_(progress) {}

    Result<ScanReport> run() {
        auto recordings = desk_.recordings(session_);
        if (!recordings) return recordings.failure();
        if (recordings->empty()) return wrong_use("The session has no recording to scan; import one first.");
        const auto versions = desk_.spotter_versions();
        for (const auto& spotter : required_spotters()) {
            const PluginInfo* plugin = desk_.plugins.find(spotter);
            if (!plugin || !versions.count(spotter)) {
                report_.troubles.push_back(plugin && !plugin->why_not.empty() ? plugin->why_not : "The spotter '" + spotter + "' is not installed.");
                continue;
            }
            for (const auto& r : *recordings)
                if (auto ok = scan_recording(*plugin, r); !ok) return ok.failure();
        }
        return report_;
    }

  private:
    Result<void> scan_recording(const PluginInfo& plugin, const Recording& r) {
        auto scanned = desk_.library.all<Scanned>(session_);
        if (!scanned) return scanned.failure();
        std::vector<RecordingSpan> todo;
        for (const auto& gap : unscanned(r, *scanned, {{plugin.id, plugin.version}}))
            if (gap.spotter == plugin.id) todo.push_back(gap.span);
        if (todo.empty()) return {};
        auto spotter = SpotterProcess::start(plugin, desk_.host);
        if (!spotter) {
            report_.troubles.push_back(spotter.failure().sentence);
            return {};
        }
        if (spotter->wants_fields())
            if (auto ok = scan_fields(*spotter, r); !ok) return ok;
        if (spotter->wants_frames()) return scan_frames(*spotter, r, todo);
        return {};
    }

    Result<void> scan_fields(SpotterProcess& spotter, const Recording& r) {
        auto fields = media::fields_of(r.path);
        if (!fields) return trouble(fields.failure());
        std::vector<Field> told;
        for (const auto& f : *fields) told.push_back({f.name, f.value});
        if (auto ok = spotter.begin_recording({upright_size(r.stored, r.rotation), r.only.end.ns}); !ok) return trouble(ok.failure());
        auto found = spotter.fields(told);
        if (!found) return trouble(found.failure());
        for (auto& p : *found) p.span = r.only;
        if (spotter.wants_frames()) return {};
        return keep(spotter.plugin(), r, r.only, *found);
    }

    Result<void> trouble(const Failure& f) {
        report_.troubles.push_back(f.sentence);
        return {};
    }

    Result<void> scan_frames(SpotterProcess& spotter, const Recording& r, const std::vector<RecordingSpan>& todo) {
        auto index = desk_.index(r, progress_);
        if (!index) return index.failure();
        auto reader = media::FrameReader::open(r.path);
        if (!reader) return reader.failure();
        reader->use_index(*index);
        if (auto ok = spotter.begin_recording({upright_size(r.stored, r.rotation), r.only.end.ns}); !ok) return trouble(ok.failure());
        for (const auto& gap : todo)
            for (RecordingTime t = gap.start; t < gap.end; t = t + kSpan) {
                const RecordingSpan span{t, std::min(t + kSpan, gap.end)};
                if (auto ok = scan_span(spotter, *reader, **index, r, span); !ok) return ok;
            }
        return {};
    }

    Result<void> scan_span(SpotterProcess& spotter, media::FrameReader& reader, const media::FrameIndex& index, const Recording& r, RecordingSpan span) {
        for (int attempt = 0; attempt < kTries; ++attempt) {
            auto found = offer(spotter, reader, index, r, span);
            if (found) return keep(spotter.plugin(), r, span, *found);
            if (found.failure().trouble == Trouble::cancelled) return found.failure();
            if (!spotter.running())
                if (auto again = spotter.restart(); !again) return trouble(again.failure());
            if (attempt + 1 == kTries) return trouble(found.failure());
        }
        return {};
    }

    Result<std::vector<Proposal>> offer(SpotterProcess& spotter, media::FrameReader& reader, const media::FrameIndex& index, const Recording& r, RecordingSpan span) {
        if (auto ok = spotter.begin_span(span); !ok) return ok.failure();
        const Nanos step = spotter.samples_per_second() > 0 ? nanos_from_seconds(1 / spotter.samples_per_second()) : 1;
        if (auto ok = reader.seek(span.start); !ok) return ok.failure();
        RecordingTime next = span.start;
        for (;;) {
            if (progress_.stopped()) return cancelled();
            auto picture = reader.next();
            if (!picture) return picture.failure();
            if (!*picture || (*picture)->time >= span.end) break;
            // The frame that is on screen when the span begins may have begun before it.
            const RecordingTime t = std::max((*picture)->time, span.start);
            const std::size_t i = index.at((*picture)->time);
            const RecordingTime until = i + 1 < index.size() ? index.time(i + 1) : index.end();
            if (until <= next) continue;
            next = next + ((std::max<Nanos>(0, t - next) / step) + 1) * step;
            auto rgb = converter_.convert(**picture, r.rotation);
            if (!rgb) return rgb.failure();
            if (auto ok = spotter.frame(t, rgb->pixels.data(), rgb->size.w, rgb->size.h, rgb->stride()); !ok) return ok.failure();
            progress_.report("Scanning with '" + spotter.plugin().name + "'", static_cast<double>(t.ns) / static_cast<double>(std::max<Nanos>(1, r.only.end.ns)));
        }
        return spotter.end_span();
    }

    // New suspects and the span's mark in one transaction: a crash between them cannot happen.
    Result<void> keep(const PluginInfo& plugin, const Recording& r, RecordingSpan span, const std::vector<Proposal>& found) {
        const std::string spotter = plugin.id + " " + plugin.version;
        auto suspects = desk_.library.all<Suspect>(session_);
        if (!suspects) return suspects.failure();
        std::vector<store::Change> changes;
        for (const auto& p : found) {
            auto same = std::find_if(suspects->begin(), suspects->end(), [&](const Suspect& s) { return s.recording == r.id && same_thing(s, p, spotter); });
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
            if (auto ok = seal_words(s.id, p.words); !ok) return ok;
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
    media::RgbConverter converter_;
    ScanReport report_;
};

}  // namespace

Result<ScanReport> scan(Desk& desk, const std::string& session, const Progress& progress) {
    if (auto s = desk.session(session); !s) return s.failure();
    return Scan(desk, session, progress).run();
}

}  // namespace canalogue::desk
