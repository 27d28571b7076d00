#include "app/desk/scanning.hpp"

#include <algorithm>

#include "app/core/cover.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/sampling.hpp"
#include "app/media/fields.hpp"
#include "app/media/frame_reader.hpp"
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
        for (const auto& span : in_pieces(todo))
            if (auto ok = scan_span(spotter, *reader, **index, r, span); !ok) return ok;
        return {};
    }

    Result<void> scan_span(SpotterProcess& spotter, media::FrameReader& reader, const media::FrameIndex& index, const Recording& r, RecordingSpan span) {
        auto found = tried_twice(spotter, [&] { return offer(spotter, reader, index, r, span); });
        if (found) return keep(spotter.plugin(), r, span, *found);
        return found.failure().trouble == Trouble::cancelled ? Result<void>(found.failure()) : trouble(found.failure());
    }

    Result<std::vector<Proposal>> offer(SpotterProcess& spotter, media::FrameReader& reader, const media::FrameIndex& index, const Recording& r, RecordingSpan span) {
        if (auto ok = spotter.begin_span(span); !ok) return ok.failure();
        const auto look = [&](const media::Picture& picture, RecordingTime shown, RecordingTime) -> Result<void> {
            auto rgb = converter_.convert(picture, r.rotation);
            if (!rgb) return rgb.failure();
            if (auto ok = spotter.frame(shown, rgb->pixels.data(), rgb->size.w, rgb->size.h, rgb->stride()); !ok) return ok.failure();
            progress_.report("Scanning with '" + spotter.plugin().name + "'", static_cast<double>(shown.ns) / static_cast<double>(std::max<Nanos>(1, r.only.end.ns)));
            return {};
        };
        if (auto ok = sample_frames(reader, index, span, spotter.samples_per_second(), progress_, look); !ok) return ok.failure();
        return spotter.end_span();
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
    media::RgbConverter converter_;
    WordsRead read_;
    ScanReport report_;
};

}  // namespace

Result<ScanReport> scan(Desk& desk, const std::string& session, const Progress& progress) {
    if (auto s = desk.session(session); !s) return s.failure();
    return Scan(desk, session, progress).run();
}

}  // namespace canalogue::desk
