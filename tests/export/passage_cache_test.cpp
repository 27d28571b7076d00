// Passages that are encoded once and used again: the film must be the same as one made from nothing.
#include <catch2/catch.hpp>

#include <cstring>

#include "app/store/sealing.hpp"
#include "tests/export/small_clip.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

CachePlace place_in(const fs::path& folder, const store::SealKey& key) {
    return {folder, [key](std::string_view plain) { return key.seal(plain); }, [key](std::string_view sealed) { return key.open(sealed); }};
}

std::vector<fs::path> kept_in(const fs::path& folder) {
    std::vector<fs::path> out;
    for (const auto& e : fs::directory_iterator(folder)) out.push_back(e.path());
    return out;
}

SmallClip clip_of_four(const TempFolder& folder) {
    SmallClip clip(folder, kMovingPicture);
    clip.card(0.2, "Before");
    clip.passage(0, 0.6);
    clip.passage(2, 2.8, 2).chapter = "Second";
    clip.passage(5, 5.4).ear = Ear::left;
    clip.events = {event("e1", "drum-visible", 0.3), event("e2", "canal-clear", 2.5)};
    return clip;
}

// How many keys differ.
int changed(const std::vector<std::string>& a, const std::vector<std::string>& b) {
    int out = 0;
    for (std::size_t i = 0; i < a.size(); ++i) out += a[i] != b[i];
    return out;
}

}  // namespace

TEST_CASE("A film joined from kept and new passages is the same, byte for byte, as one made from nothing") {
    REQUIRE(store::sealing_ready());
    for (const FilmFormat format : {FilmFormat::mp4, FilmFormat::webm}) {
        TempFolder folder;
        SmallClip clip = clip_of_four(folder);
        clip.plan.film.format = format;
        const fs::path film = folder / film_name(format);
        const PassageCache cache(place_in(folder / "kept", store::SealKey::fresh()));
        const std::string first = clip.bytes(film, &cache);
        CHECK(kept_in(folder / "kept").size() == 4);
        const bool again = clip.bytes(film, &cache) == first, from_nothing = clip.bytes(film) == first;
        CHECK(again);
        CHECK(from_nothing);
        // The voice of the first passage grows: it slows, and all that follows moves.
        const auto before = clip.keys();
        clip.lengths = {{}, {s(1.2)}, {}, {}};
        CHECK(changed(before, clip.keys()) == 1);
        const std::string joined = clip.bytes(film, &cache);
        const bool longer = joined != first, same = joined == clip.bytes(film);
        CHECK(longer);
        CHECK(same);
        CHECK(kept_in(folder / "kept").size() == 5);
    }
}

TEST_CASE("Kept passages are used: what lies in the cache is what the film shows") {
    TempFolder folder;
    SmallClip clip = clip_of_four(folder);
    const PassageCache cache(place_in(folder / "kept", store::SealKey::fresh()));
    clip.bytes(folder / "clip.mp4", &cache);
    // Under the key of the first passage stands the last one's picture.
    const auto keys = clip.keys();
    const auto writer = cache.begin(keys[1]);
    REQUIRE(cache.replay(keys[3], [&](AVPacket& p) { return writer->add(p), Result<void>{}; }).ok());
    writer->keep();
    const bool differs = clip.bytes(folder / "clip.mp4", &cache) != clip.bytes(folder / "other.mp4");
    CHECK(differs);
}

TEST_CASE("A change touches the passages that show it and no other") {
    TempFolder folder;
    const SmallClip clip = clip_of_four(folder);
    const auto keys = clip.keys();
    const auto touched = [&](auto change) {
        SmallClip other = clip;
        change(other);
        const auto now = other.keys();
        std::vector<int> out;
        for (std::size_t i = 0; i < keys.size(); ++i)
            if (now[i] != keys[i]) out.push_back(static_cast<int>(i));
        return out;
    };
    using Items = std::vector<int>;
    const Cover box{span(2, 3), false, {0, 0, 64, 64}};
    CHECK(touched([](SmallClip&) {}).empty());
    CHECK(touched([](SmallClip& c) { c.passage_of(1).labels = {{at(0), at(1), "Drum"}}; }) == Items{1});
    CHECK(touched([](SmallClip& c) { c.passage_of(2).narration = {"Said, not shown."}; }).empty());
    CHECK(touched([](SmallClip& c) { c.passage_of(2).pace = 1.5; }) == Items{2});
    CHECK(touched([](SmallClip& c) { c.passage_of(2).holds = {{at(2.5), s(1)}}; }) == Items{2});
    CHECK(touched([](SmallClip& c) { c.passage_of(3).close_up = CloseUp{{0.2, 0.2, 0.5, 0.5}, {}, {}}; }) == Items{3});
    CHECK(touched([](SmallClip& c) { c.events[0].at = at(0.5); }) == Items{1});
    CHECK(touched([](SmallClip& c) { c.events[1].kind = "drum-visible"; }) == Items{2});
    CHECK(touched([](SmallClip& c) { c.events.push_back(event("e3", "canal-clear", 4)); }).empty());  // no passage shows it
    CHECK(touched([](SmallClip& c) { std::get<Card>(c.plan.items[0]).title = "After"; }) == Items{0});
    CHECK(touched([&](SmallClip& c) { c.sources[0].covers.picture = {box}; }) == Items{1, 2, 3});  // within ten seconds of each
    CHECK(touched([](SmallClip& c) { c.sources[0].recording.hash = std::string(64, 'b'); }) == Items{1, 2, 3});
    CHECK(touched([](SmallClip& c) { c.sources[0].recording.offset = {kSecond}; }) == Items{1, 2, 3});
    CHECK(touched([](SmallClip& c) { c.plan.film.target = FilmTarget::master; }).size() == 4);
    CHECK(touched([](SmallClip& c) { c.plan.film.size = {720, 720}; }).size() == 4);
    CHECK(touched([](SmallClip& c) { c.plan.film.format = FilmFormat::webm; }).size() == 4);
    CHECK(touched([](SmallClip& c) { c.passage(6, 7); }).size() == 4);  // the strip shows one passage more
    CHECK(touched([](SmallClip& c) { c.plan.film.captions = CaptionStyle::burnt; c.cues = {{{{0}, {300 * kMillisecond}}, {"Words"}}}; }).size() == 4);
    SmallClip burnt = clip, worded = clip;
    burnt.plan.film.captions = worded.plan.film.captions = CaptionStyle::burnt;
    worded.cues = {{{{300 * kMillisecond}, {600 * kMillisecond}}, {"Words"}}};
    CHECK(changed(burnt.keys(), worded.keys()) == 1);
}

TEST_CASE("Nothing of a kept passage can be read without its key, and what was changed or mixed up is not used") {
    TempFolder folder;
    const SmallClip clip = clip_of_four(folder);
    const store::SealKey key = store::SealKey::fresh();
    const PassageCache cache(place_in(folder / "kept", key));
    const std::string film = clip.bytes(folder / "clip.mp4", &cache);
    const auto keys = clip.keys();
    REQUIRE(cache.holds(keys[1]));
    CHECK_FALSE(PassageCache(place_in(folder / "kept", store::SealKey::fresh())).holds(keys[1]));
    // No stretch of a packet stands in the file as it is in the film.
    const fs::path file = folder / "kept" / (keys[1] + ".passage");
    const std::string sealed = read_file(file);
    REQUIRE(cache.replay(keys[1], [&](AVPacket& p) {
        const std::string some(reinterpret_cast<const char*>(p.data) + p.size / 2, static_cast<std::size_t>(std::min(16, p.size / 2)));
        CHECK(sealed.find(some) == std::string::npos);
        return Result<void>{};
    }).ok());
    // Another passage's file under this one's name, a changed byte, an end that is missing.
    for (const std::string& bytes : {read_file(folder / "kept" / (keys[2] + ".passage")), sealed.substr(0, 100) + '?' + sealed.substr(101), sealed.substr(0, sealed.size() - 1), std::string()}) {
        write_file(file, bytes);
        CHECK_FALSE(cache.holds(keys[1]));
    }
    const bool same = clip.bytes(folder / "clip.mp4", &cache) == film;
    CHECK(same);
    CHECK(cache.holds(keys[1]));  // made again
}

TEST_CASE("A still is made once: kept, it is the same file, and a change of what it shows makes another") {
    TempFolder folder;
    const SmallClip clip = clip_of_four(folder);
    const Schedule laid = clip.schedule();
    const std::vector<Recording> recordings{clip.sources[0].recording};
    const std::vector<StillWanted> wanted{{"01", "r1", at(0.3), Ear::right, "Drum"}, {"02", "r1", at(2.5), Ear::right, "Clear"}};
    const auto keys_of = [&](const SmallClip& c, const std::vector<StillWanted>& stills, Audience audience = Audience::learners) {
        return still_keys({c.plan, laid, c.sources, c.events, ear_care(), c.cues, audience}, stills);
    };
    const PassageCache cache(place_in(folder / "kept", store::SealKey::fresh()));
    Composer composer(clip.plan, laid, clip.events, recordings, ear_care(), clip.cues, Audience::learners);
    const auto write = [&](const fs::path& to, const KeptStills& kept) { REQUIRE(write_stills(to, wanted, clip.sources, composer, kept, {}).ok()); };
    const auto keys = keys_of(clip, wanted);
    write(folder / "first", {&cache, keys});
    CHECK(kept_in(folder / "kept").size() == 2);
    // Each under the other's key: what comes out shows that they are taken from where they are kept.
    write(folder / "crossed", {&cache, {keys[1], keys[0]}});
    write(folder / "again", {&cache, keys});
    write(folder / "alone", {});
    for (const char* name : {"01.jpg", "02.jpg"}) {
        const std::string first = read_file(folder / "first" / name);
        const bool again = read_file(folder / "again" / name) == first, alone = read_file(folder / "alone" / name) == first;
        CHECK(again);
        CHECK(alone);
    }
    const bool crossed = read_file(folder / "crossed" / "01.jpg") == read_file(folder / "first" / "02.jpg");
    CHECK(crossed);

    SmallClip covered = clip;
    covered.sources[0].covers.picture = {{span(0, 1), false, {0, 0, 64, 64}}};
    CHECK(changed(keys, keys_of(covered, wanted)) == 2);  // within ten seconds of each
    SmallClip other_ear = clip;
    other_ear.sources[0].recording.ears = {{span(0, 4), Ear::left}};
    CHECK(changed(keys, keys_of(other_ear, wanted)) == 2);
    auto moved = wanted;
    moved[0].at = at(0.4), moved[1].words = "Dry";
    CHECK(changed(keys, keys_of(clip, moved)) == 2);
    CHECK(changed(keys, keys_of(clip, wanted, Audience::care)) == 2);
    SmallClip unknown = clip;
    unknown.sources[0].recording.hash.clear();
    CHECK(keys_of(unknown, wanted) == std::vector<std::string>{"", ""});
}

TEST_CASE("A full disk only loses the cache: the film is made, and nothing half is left") {
    TempFolder folder;
    const SmallClip clip = clip_of_four(folder);
    CachePlace place = place_in(folder / "kept", store::SealKey::fresh());
    place.spare = UINT64_MAX / 2;  // as on a disk that is full
    const PassageCache cache(place);
    const bool same = clip.bytes(folder / "clip.mp4", &cache) == clip.bytes(folder / "other.mp4");
    CHECK(same);
    CHECK(kept_in(folder / "kept").empty());
    // A folder that cannot be written to.
    write_file(folder / "file", "x");
    const PassageCache nowhere(place_in(folder / "file", store::SealKey::fresh()));
    const bool without = clip.bytes(folder / "third.mp4", &nowhere) == read_file(folder / "other.mp4");
    CHECK(without);
}

TEST_CASE("A passage that was not finished leaves nothing, and the cache keeps to its size") {
    TempFolder folder;
    CachePlace place = place_in(folder / "kept", store::SealKey::fresh());
    place.most = 2500;
    const PassageCache cache(place);
    media::PacketPtr packet(av_packet_alloc());
    REQUIRE(av_new_packet(packet.get(), 1000) == 0);
    std::memset(packet->data, 7, 1000);
    packet->pts = 0;
    cache.begin("aa")->add(*packet);
    CHECK(kept_in(folder / "kept").empty());
    int minute = 0;
    for (const char* key : {"aa", "bb", "cc"}) {
        const auto writer = cache.begin(key);
        writer->add(*packet);
        writer->keep();
        fs::last_write_time(folder / "kept" / (std::string(key) + ".passage"), fs::file_time_type::clock::now() - std::chrono::minutes(10 - minute++));
    }
    CHECK(cache.holds("aa"));  // used now: "bb" was not used for longest
    cache.trim();
    CHECK(cache.holds("aa"));
    CHECK_FALSE(cache.holds("bb"));
    CHECK(cache.holds("cc"));
}
