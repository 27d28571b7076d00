#include "export/render.hpp"

#include <algorithm>

#include "app/core/event_rules.hpp"
#include "app/core/known.hpp"
#include "app/media/file_hash.hpp"
#include "export/check_parts.hpp"
#include "export/composer.hpp"
#include "export/encoder.hpp"
#include "export/film_writer.hpp"
#include "export/folder.hpp"
#include "export/learner_files.hpp"
#include "export/manifest.hpp"
#include "export/passage_key.hpp"
#include "export/sidecars.hpp"
#include "export/stills.hpp"

namespace canalogue::film {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t kMostStills = 24;

class Render {
  public:
    Render(const RenderJob& job, const Progress& progress, ExportFolder folder, Narration narration)
        : job_(job), progress_(progress), folder_(std::move(folder)), narration_(std::move(narration)) {
        for (const auto& s : job.sources) recordings_.push_back(s.recording);
    }

    Result<RenderReport> run() {
        if (auto ok = speak_lines(); !ok) return ok.failure();
        schedule_ = film::schedule(job_.plan, job_.events, lengths_);
        make_cues();
        if (auto ok = captions_lie_in_the_film(); !ok) return ok.failure();
        composer_ = std::make_unique<Composer>(job_.plan, schedule_, job_.events, recordings_, *job_.vocabulary, cues_, job_.audience);
        if (auto ok = make_film(); !ok) return ok.failure();
        if (auto ok = make_stills(); !ok) return ok.failure();
        if (auto ok = make_sidecars(); !ok) return ok.failure();
        if (auto ok = make_learner_files(); !ok) return ok.failure();
        return finish();
    }

  private:
    Result<void> speak_lines() {
        progress_.report("Speaking the narration", 0);
        for (const auto& item : job_.plan.items) {
            std::vector<Nanos> lengths;
            for (const auto& line : narration_of(item)) {
                if (progress_.stopped()) return cancelled();
                auto spoken = line.take.empty() ? speak(line.text, job_.plan.language) : job_.take(line);
                if (!spoken) return spoken.failure();
                lengths.push_back(spoken->length());
                if (auto kept = narration_.add(*spoken); !kept) return kept;
            }
            lengths_.push_back(std::move(lengths));
        }
        return {};
    }

    void make_cues() {
        for (std::size_t i = 0; i < schedule_.lines.size(); ++i) {
            const auto& placed = schedule_.lines[i];
            const auto& text = narration_of(job_.plan.items[placed.item])[placed.line].text;
            const auto cues = cues_for(text, narration_.words(i), placed.start, placed.length);
            cues_.insert(cues_.end(), cues.begin(), cues.end());
        }
        settle(cues_, {schedule_.length()});
    }

    // Captions that were timed for another film are better found before minutes of encoding.
    Result<void> captions_lie_in_the_film() const {
        for (const auto& track : job_.captions_also)
            for (const auto& cue : track.cues)
                if (cue.span.start.ns >= schedule_.length())
                    return wrong_use("The captions for '" + track.language + "' have one at " + format_time(cue.span.start.ns) + ", and the film is " + format_clock(schedule_.length()) + " long: they were timed for another film.");
        return {};
    }

    fs::path film_file() const { return folder_ / film_name(job_.plan.film.format); }

    Result<void> make_film() {
        Sound sound(job_.plan, schedule_, narration_, job_.sources);
        has_sound_ = !sound.silent();
        if (has_sound_)
            if (auto ok = sound.level(progress_); !ok) return ok;
        FilmInput film{job_.plan, schedule_, job_.sources, *composer_, sound, nullptr, {}};
        if (job_.cache) cache_.emplace(*job_.cache);
        if (cache_ && job_.plan.film.target != FilmTarget::message) {
            film.cache = &*cache_;
            film.keys = passage_keys(key_input());
        }
        return write_film(film_file(), film, progress_);
    }

    KeyInput key_input() const { return {job_.plan, schedule_, job_.sources, job_.events, *job_.vocabulary, cues_, job_.audience}; }

    // The first event of each kind and ear, in film order: the poster shows the weightiest.
    Result<void> make_stills() {
        std::vector<StillWanted> wanted;
        std::vector<int> weights;
        for (const auto& fe : schedule_.events) {
            const Event& e = job_.events[fe.event];
            const EventKind* kind = job_.vocabulary->find(e.kind);
            if (!kind || kind->weight == 0 || wanted.size() >= kMostStills) continue;
            char number[8];
            std::snprintf(number, sizeof number, "%02zu", wanted.size() + 1);
            still_moments_.push_back({fe.span.start, kind->weight + (kind->landmark ? 10 : 0)});
            wanted.push_back({std::string(number) + "-" + std::string(name_of(e.ear)) + "-" + e.kind, e.recording, e.at, e.ear, described(e, *kind, FreeText::leave_out)});
            weights.push_back(still_moments_.back().weight);
        }
        stills_ = wanted;
        KeptStills kept;
        if (cache_) kept = {&*cache_, still_keys(key_input(), wanted)};
        auto made = write_stills(folder_ / "stills", wanted, job_.sources, *composer_, kept, progress_);
        if (cache_) cache_->trim();
        if (!made) return made;
        if (!wanted.empty()) {
            const auto best = static_cast<std::size_t>(std::max_element(weights.begin(), weights.end()) - weights.begin());
            std::error_code ec;
            poster_ = {wanted[best].recording, wanted[best].at};
            fs::copy_file(folder_ / "stills" / (wanted[best].name + ".jpg"), folder_ / "poster.jpg", ec);
            if (!ec) return {};
        }
        // A film without an event has its first card for a poster.
        if (!std::holds_alternative<Card>(job_.plan.items[0])) return poster_of_first_picture();
        media::FramePtr first = composer_->compose(0, nullptr);
        if (!first) return machine_trouble("There is not enough memory for the poster; close other programs.");
        return write_jpeg(folder_ / "poster.jpg", *first);
    }

    Result<void> poster_of_first_picture() {
        const auto [passage, at] = longest_seen();
        poster_ = {passage->recording, at};
        return write_stills(folder_.path(), {{"poster", passage->recording, at, passage->ear, passage->chapter}}, job_.sources, *composer_, {}, progress_);
    }

    // The middle of the longest stretch that is not wholly covered; the first passage's begin where there is none.
    std::pair<const Passage*, RecordingTime> longest_seen() const {
        const Passage* best = &std::get<Passage>(job_.plan.items[0]);
        RecordingTime at = best->span.start;
        Nanos longest = 0;
        for (const auto& item : job_.plan.items) {
            const auto* passage = std::get_if<Passage>(&item);
            for (const auto& source : job_.sources) {
                if (!passage || source.recording.id != passage->recording) continue;
                std::vector<RecordingSpan> whole;
                for (const auto& cover : source.covers.picture)
                    if (cover.whole) whole.push_back(cover.span);
                for (const auto& gap : gaps_in(passage->span, whole))
                    if (gap.length() > longest) longest = gap.length(), best = passage, at = gap.start + gap.length() / 2;
            }
        }
        return {best, at};
    }

    Result<void> make_sidecars() {
        std::vector<TimedEvent> events;
        for (const auto& fe : schedule_.events) {
            const Event& e = job_.events[fe.event];
            if (const EventKind* kind = job_.vocabulary->find(e.kind)) events.push_back({&e, kind, fe.span.start.ns, fe.span.end.ns});
        }
        const std::pair<const char*, std::string> texts[] = {
            {"clip.vtt", captions_vtt(cues_)},
            {"clip.srt", captions_srt(cues_)},
            {"chapters.vtt", chapters_vtt(schedule_.chapters, schedule_.length())},
            {"events.vtt", events_vtt(events)},
            {"events.jsonld", events_jsonld(events, *job_.vocabulary, film_name(job_.plan.film.format), job_.plan.language)},
            {"events.csv", events_csv(events)},
        };
        for (const auto& [name, text] : texts)
            if (auto ok = write_text(folder_ / name, text); !ok) return ok;
        for (const auto& track : job_.captions_also)
            if (auto ok = write_text(folder_ / ("clip." + track.language + ".vtt"), captions_vtt(track.cues)); !ok) return ok;
        return {};
    }

    // Where the composer puts each recording's picture.
    Result<FilmRoom> film_room() const {
        FilmRoom out{job_.plan.film.size, composer_->picture_room(), {}};
        for (const auto& source : job_.sources) {
            auto opened = PictureSource::open(source, out.room, 1);
            if (!opened) return opened.failure();
            out.pictures[source.recording.id] = opened->picture_size();
        }
        return out;
    }

    Result<void> make_learner_files() {
        auto room = film_room();
        if (!room) return room.failure();
        std::error_code ec;
        const std::string film = film_name(job_.plan.film.format);
        CasePage page = case_page({job_.plan, schedule_, job_.events, *job_.vocabulary, cues_, *room, job_.audience, film});
        for (std::size_t i = 0; i < stills_.size(); ++i) page.stills.push_back({"stills/" + stills_[i].name + ".jpg", stills_[i].words, stills_[i].ear, still_moments_[i].at, still_moments_[i].weight});
        page.tracks.insert(page.tracks.end(), job_.captions_also.begin(), job_.captions_also.end());
        return write_learner_files(folder_.path(), page, job_.plan, job_.audience);
    }

    Result<Loudness> measured_film() {
        LoudnessMeter meter;
        constexpr Nanos kStretch = 10 * kSecond;
        for (Nanos t = 0; t < schedule_.length(); t += kStretch) {
            auto sound = media::read_sound(film_file(), 0, {{t}, {std::min(t + kStretch, schedule_.length())}}, {}, progress_);
            if (!sound) return sound.failure();
            meter.add(*sound);
        }
        return meter.result();
    }

    // The manifest is written after the check, for it hashes the check's report; the one thing in it that a
    // person wrote is the title.
    void look_at_title(CheckReport& check) const {
        auto places = identifying(job_.plan.title, "the plan's title", job_.check);
        for (const auto& known : job_.check.known_identifiers)
            if (const auto held = written_with(job_.plan.title, known); places.empty() && held != Holding::nothing) places.push_back({std::string(name_of(held)), "the plan's title"});
        if (!places.empty()) check.looks.push_back({CheckLook::Outcome::finding, "Title", "it stands in the manifest", places});
    }

    // What a still of this name shows; every other picture is made from the poster's.
    std::optional<ShownInstant> origin_of(const std::string& file) const {
        for (const auto& still : stills_)
            if (still.name + ".jpg" == file) return ShownInstant{still.recording, still.at};
        if (poster_.recording.empty()) return std::nullopt;
        return poster_;
    }

    Result<RenderReport> finish() {
        RenderReport report;
        if (has_sound_) {
            auto loudness = measured_film();
            if (!loudness) return loudness.failure();
            report.loudness = *loudness;
        }
        progress_.report("Checking the film", 0);
        CheckOptions options = job_.check;
        options.made_how = [&](FilmTime t) { return film::made_how(job_.plan, schedule_, t); };
        options.judged_still = [&](SuspectKind kind, const std::string& file) {
            const auto from = origin_of(file);
            return from && std::any_of(job_.judged.begin(), job_.judged.end(), [&](const Suspect& s) { return s.recording == from->recording && s.kind == kind && s.span.holds(from->at); });
        };
        options.judged_harmless = [&](SuspectKind kind, FilmTime t) { return judged_at(job_.judged, kind, t, job_.plan, schedule_); };
        auto check = check_export(folder_.path(), options, progress_);
        if (!check) return check.failure();
        report.check = *check;
        look_at_title(report.check);
        if (auto ok = write_text(folder_ / "check.json", report_json(report.check)); !ok) return ok.failure();
        auto manifest = manifest_json(folder_.path(), {job_.plan, schedule_, *job_.vocabulary, job_.audience, report_covers(job_.plan, schedule_, job_.sources),
                                                       report.loudness, has_sound_, job_.spotters, job_.not_scanned_by, job_.judged_harmless,
                                                       static_cast<int>(job_.check.known_identifiers.size())});
        if (!manifest) return manifest.failure();
        if (auto ok = write_text(folder_ / "manifest.json", *manifest); !ok) return ok.failure();
        report.manifest_hash = media::hash_bytes(*manifest);
        report.length = schedule_.length();
        report.frames = schedule_.frames;
        report.stills = static_cast<int>(stills_.size());
        report.held = !report.check.passed() && !may_identify(job_.audience);
        if (report.held) report.found = found_in_recordings(report.check, job_.plan, schedule_, [&](const std::string& file) { return origin_of(file); });
        report.folder = report.held ? job_.held / report.manifest_hash.substr(0, 16) : job_.out;
        std::error_code ec;
        if (report.held) {
            fs::create_directories(job_.held, ec);
            fs::remove_all(report.folder, ec);
        }
        if (progress_.stopped()) return cancelled();
        auto kept = report.held ? folder_.keep_at(report.folder) : folder_.keep();
        if (!kept) return kept.failure();
        return report;
    }

    const RenderJob& job_;
    const Progress& progress_;
    ExportFolder folder_;
    std::vector<Recording> recordings_;
    Narration narration_;
    NarrationLengths lengths_;
    Schedule schedule_;
    std::vector<Cue> cues_;
    std::unique_ptr<Composer> composer_;
    std::optional<PassageCache> cache_;
    bool has_sound_ = false;
    struct StillMoment {
        FilmTime at;
        int weight = 0;
    };
    std::vector<StillWanted> stills_;
    ShownInstant poster_;  // nobody's when it is a card
    std::vector<StillMoment> still_moments_;  // of each still
};

}  // namespace

Result<void> words_can_be_drawn(const Plan& plan) {
    for (const auto& [where, text] : texts_of(plan))
        if (!Canvas::can_draw(text)) return wrong_use("No font of this machine has all signs of " + where + ": write it in other signs, or install a font that has them (Debian: fonts-noto).");
    return {};
}

Result<RenderReport> render(const RenderJob& job, const Progress& progress) {
    std::vector<Recording> recordings;
    for (const auto& s : job.sources) recordings.push_back(s.recording);
    if (auto ok = plan_fits(job.plan, recordings); !ok) return ok.failure();
    if (auto ok = words_can_be_drawn(job.plan); !ok) return ok.failure();
    auto folder = ExportFolder::begin(job.out, job.replace);
    if (!folder) return folder.failure();
    auto narration = Narration::in(folder->path());
    if (!narration) return narration.failure();
    return Render(job, progress, std::move(*folder), std::move(*narration)).run();
}

}  // namespace canalogue::film
