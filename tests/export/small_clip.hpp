// A small recording and a plan for it, made into a film without a library: what is tested is the film.
#pragma once

#include <catch2/catch.hpp>

#include "export/film_writer.hpp"
#include "export/passage_key.hpp"
#include "tests/core/values.hpp"
#include "tests/support/media_files.hpp"

namespace canalogue::test {

struct SmallClip {
    // `graph`: pictures and sound for the ffmpeg program, 25 frames a second.
    SmallClip(const TempFolder& folder, const std::string& graph) {
        const fs::path file = make_media(folder / "recording.mkv", graph);
        auto reader = media::FrameReader::open(file);
        auto index = media::FrameIndex::build(file, {});
        REQUIRE((reader.ok() && index.ok()));
        const auto& f = reader->facts();
        Recording r;
        r.id = "r1", r.path = file, r.hash = std::string(64, 'a');
        r.stored = f.stored, r.rotation = f.rotation, r.zero = f.zero, r.frames_per_second = f.frames_per_second;
        r.only = {{0}, index->end()};
        sources.push_back({r, std::make_shared<media::FrameIndex>(*index), {}});
    }

    Passage& passage(double from, double until, double pace = 1) {
        Passage p;
        p.recording = "r1", p.span = span(from, until), p.pace = pace, p.ear = Ear::right;
        plan.items.emplace_back(p);
        return std::get<Passage>(plan.items.back());
    }
    void card(double seconds, const std::string& title) { plan.items.emplace_back(Card{Card::Role::note, title, {"A line of it."}, s(seconds), "", {}}); }
    Passage& passage_of(std::size_t item) { return std::get<Passage>(plan.items[item]); }

    film::Schedule schedule() const {
        film::NarrationLengths all = lengths;
        all.resize(plan.items.size());
        return film::schedule(plan, events, all);
    }
    std::vector<std::string> keys() const {
        const film::Schedule laid = schedule();
        return film::passage_keys({plan, laid, sources, events, ear_care(), cues, Audience::learners});
    }
    Result<void> make(const fs::path& file, const film::PassageCache* cache = nullptr) const {
        const film::Schedule laid = schedule();
        auto narration = film::Narration::in(file.parent_path());
        REQUIRE(narration.ok());
        const std::vector<Recording> recordings{sources[0].recording};
        film::Composer composer(plan, laid, events, recordings, ear_care(), cues, Audience::learners);
        film::Sound sound(plan, laid, *narration, sources);
        if (!sound.silent()) REQUIRE(sound.level({}).ok());
        film::FilmInput in{plan, laid, sources, composer, sound};
        in.cache = cache;
        if (cache) in.keys = keys();
        return film::write_film(file, in, {});
    }
    std::string bytes(const fs::path& file, const film::PassageCache* cache = nullptr) const {
        const auto made = make(file, cache);
        INFO((made ? "" : made.failure().sentence));
        REQUIRE(made.ok());
        return read_file(file);
    }

    Plan plan;
    std::vector<film::SourceRecording> sources;
    std::vector<Event> events;
    std::vector<film::Cue> cues;
    film::NarrationLengths lengths;  // of what would be said; nothing is
};

inline const char* const kMovingPicture = "-f lavfi -i testsrc2=s=640x360:r=25:d=8 -c:v libx264 -preset ultrafast -g 25";

}  // namespace canalogue::test
